//! How values are read from a parsed file: every problem is collected, none stops the reading.
//!
//! `serde` would stop at a file's first mistake. A potter who mends a schedule wants them all, so
//! the tables that `toml` parses are walked here. One macro, [`wire!`], defines a table's type,
//! its reader and its JSON Schema together, so that the three cannot disagree.

use std::ops::Range;

use schemars::JsonSchema;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::near::{nearest, synonym};
use super::problem::Problems;
use super::slips;

/// A value as the file has it, and the key it was given to.
#[derive(Clone, Copy, Debug)]
pub(super) struct Node<'a> {
    pub(super) key: &'a str,
    pub(super) value: &'a DeValue<'a>,
    pub(super) text: &'a str,
    start: usize,
    end: usize,
}

impl<'a> Node<'a> {
    fn new(key: &'a str, value: &'a Spanned<DeValue<'a>>, text: &'a str) -> Self {
        let Range { start, end } = value.span();
        Self { key, value: value.get_ref(), text, start, end }
    }

    pub(super) fn span(&self) -> Range<usize> {
        self.start..self.end
    }

    /// `key = value` as it stands in the file, its middle left out when it is long.
    pub(super) fn quoted(&self) -> String {
        const LONGEST: usize = 40; // keeps a message on one line of a terminal
        let raw = self.text.get(self.span()).unwrap_or_default();
        let line = raw.lines().next().unwrap_or_default();
        let shown: String = line.chars().take(LONGEST).collect();
        let more = if shown.len() < raw.len() { "…" } else { "" };
        format!("{} = {shown}{more}", self.key)
    }

    /// Complains of this value.
    pub(super) fn refuse(&self, problems: &mut Problems, wrong: &str, right: impl Into<String>) {
        problems.add(&self.span(), format!("{}: {wrong}", self.quoted()), right);
    }
}

/// Something that can stand in a file.
pub(super) trait Wire: Sized + JsonSchema {
    /// Reads it, or says what is wrong.
    fn read(node: &Node<'_>, problems: &mut Problems) -> Option<Self>;
}

/// A value with the place it came from, for checks that come later.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct At<T> {
    pub(super) value: T,
    pub(super) span: Range<usize>,
}

/// What a key of a table may hold: a value, perhaps a value, or a list of tables.
pub(super) trait Field: Sized {
    const REQUIRED: bool;
    fn found(node: &Node<'_>, problems: &mut Problems) -> Option<Self>;
    /// What it is when the key is missing; `None` when it must not be.
    fn absent() -> Option<Self>;
    fn schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema;
}

impl<T: Wire> Field for At<T> {
    const REQUIRED: bool = true;
    fn found(node: &Node<'_>, problems: &mut Problems) -> Option<Self> {
        T::read(node, problems).map(|value| Self { value, span: node.span() })
    }
    fn absent() -> Option<Self> {
        None
    }
    fn schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        generator.subschema_for::<T>()
    }
}

impl<T: Wire> Field for Option<At<T>> {
    const REQUIRED: bool = false;
    fn found(node: &Node<'_>, problems: &mut Problems) -> Option<Self> {
        At::found(node, problems).map(Some)
    }
    fn absent() -> Option<Self> {
        Some(None)
    }
    fn schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        generator.subschema_for::<T>()
    }
}

impl<T: Wire> Field for Vec<At<T>> {
    const REQUIRED: bool = true;
    fn found(node: &Node<'_>, problems: &mut Problems) -> Option<Self> {
        let DeValue::Array(items) = node.value else {
            let right = match node.value {
                DeValue::Table(_) => {
                    format!("begin each one with [[{}]], in two brackets on either side", node.key)
                }
                DeValue::String(_)
                | DeValue::Integer(_)
                | DeValue::Float(_)
                | DeValue::Boolean(_)
                | DeValue::Datetime(_)
                | DeValue::Array(_) => {
                    format!("write one or more [[{}]] sections, or a list in [ ]", node.key)
                }
            };
            problems.add(&node.span(), format!("{} is not a list", node.key), right);
            return None;
        };
        let read: Vec<Option<At<T>>> =
            items.iter().map(|item| At::found(&Node::new(node.key, item, node.text), problems)).collect();
        read.into_iter().collect()
    }
    fn absent() -> Option<Self> {
        None
    }
    fn schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        let items = generator.subschema_for::<T>();
        schemars::json_schema!({ "type": "array", "minItems": 1, "items": items })
    }
}

/// A list of tables that may be left out.
impl<T: Wire> Field for Option<Vec<At<T>>> {
    const REQUIRED: bool = false;
    fn found(node: &Node<'_>, problems: &mut Problems) -> Option<Self> {
        <Vec<At<T>> as Field>::found(node, problems).map(Some)
    }
    fn absent() -> Option<Self> {
        Some(None)
    }
    fn schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        <Vec<At<T>> as Field>::schema(generator)
    }
}

/// A table being read.
pub(super) struct Fields<'a> {
    table: &'a DeTable<'a>,
    title: &'a str,
    header: Range<usize>,
    text: &'a str,
}

impl Fields<'_> {
    fn refuse_unknown(&self, known: &[&str], problems: &mut Problems) {
        for key in self.table.keys() {
            let name: &str = key.get_ref();
            if known.contains(&name) {
                continue;
            }
            let right = match nearest(name, known.iter().copied()).or_else(|| synonym(name, known)) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("known here: {}", known.join(", ")),
            };
            problems.add(&key.span(), format!("unknown key `{name}` in {}", self.in_words()), right);
        }
    }

    fn in_words(&self) -> String {
        if self.header.is_empty() { self.title.to_owned() } else { format!("[{}]", self.title) }
    }

    /// The value of one key. A missing one is a problem when it is required.
    pub(super) fn take<T: Field>(
        &self,
        key: &'static str,
        meaning: &str,
        problems: &mut Problems,
    ) -> Option<T> {
        if let Some(value) = self.table.get(key) {
            return T::found(&Node::new(key, value, self.text), problems);
        }
        let absent = T::absent();
        if absent.is_none() {
            let right = format!("add `{key}`: {}", meaning.trim().trim_end_matches('.'));
            problems.add(&self.header, format!("{} has no `{key}`", self.in_words()), right);
        }
        absent
    }
}

/// A table with known keys.
pub(super) trait Section: Sized + JsonSchema {
    /// Its keys, in the order of its definition.
    const KEYS: &'static [&'static str];
    /// Reads every key, whatever is wrong with the others.
    fn take(fields: &Fields<'_>, problems: &mut Problems) -> Option<Self>;
}

impl<T: Section> Wire for T {
    fn read(node: &Node<'_>, problems: &mut Problems) -> Option<Self> {
        let DeValue::Table(table) = node.value else {
            let right = format!("write a section that begins with [{}]", node.key);
            node.refuse(problems, "not a section", right);
            return None;
        };
        let fields = Fields { table, title: node.key, header: node.span(), text: node.text };
        fields.refuse_unknown(T::KEYS, problems);
        T::take(&fields, problems)
    }
}

/// Reads a whole file; `None` when anything is wrong with it, and then `problems` says what.
pub(super) fn read_file<T: Section>(text: &str, problems: &mut Problems) -> Option<T> {
    let (document, errors) = DeTable::parse_recoverable(text);
    add_slips(&errors, text, problems);
    if !errors.is_empty() {
        return None; // what the rest of a broken text means is anybody's guess
    }
    let fields = Fields { table: document.get_ref(), title: "the file", header: 0..0, text };
    fields.refuse_unknown(T::KEYS, problems);
    let file = T::take(&fields, problems);
    file.filter(|_| problems.is_empty())
}

/// Says what was meant where the text is no TOML. The parser's own words are for programmers.
fn add_slips(errors: &[toml::de::Error], text: &str, problems: &mut Problems) {
    let mut told = None;
    for error in errors {
        let span = error.span().unwrap_or(0..0);
        let line = text.get(..span.start).map(|before| before.matches('\n').count());
        // One slip makes several errors of its line; the first says it all.
        if told.replace(line) == Some(line) {
            continue;
        }
        if !error.message().contains("duplicate key") {
            problems.add(&span, "this line cannot be read", slips::meant(text, span.start));
            continue;
        }
        problems.add(&span, "given twice", slips::meant_once(text, span.start));
        if slips::is_header(text, span.start) {
            return; // everything below it counts as given twice, too
        }
    }
}

/// Which of a few words a value is.
pub(super) fn choose(
    node: &Node<'_>,
    words: &[&str],
    meaning: &str,
    problems: &mut Problems,
) -> Option<usize> {
    let listed = words.iter().map(|word| format!("\"{word}\"")).collect::<Vec<_>>().join(" or ");
    let DeValue::String(found) = node.value else {
        node.refuse(problems, &format!("not {meaning}"), format!("write {listed}"));
        return None;
    };
    let position = words.iter().position(|word| word == found);
    if position.is_none() {
        let among = || {
            let mut parts = found.split(|c: char| !c.is_alphanumeric());
            parts.find_map(|part| words.iter().copied().find(|word| word.eq_ignore_ascii_case(part)))
        };
        let right = match among().or_else(|| nearest(found, words.iter().copied())) {
            Some(near) => format!("did you mean \"{near}\"? It can be {listed}"),
            None => format!("write {listed}"),
        };
        node.refuse(problems, &format!("not {meaning}"), right);
    }
    position
}

/// Defines a table of a file: its type, its reader and its schema.
macro_rules! wire {
    ($(
        $(#[doc = $doc:literal])+
        $vis:vis struct $name:ident {
            $($(#[doc = $key_doc:literal])+ $key:ident: $type:ty,)+
        }
    )+) => {$(
        $(#[doc = $doc])+
        #[derive(Clone, Debug, PartialEq)]
        $vis struct $name { $($(#[doc = $key_doc])+ $vis $key: $type,)+ }

        impl $crate::files::wire::Section for $name {
            const KEYS: &'static [&'static str] = &[$(stringify!($key),)+];

            fn take(
                fields: &$crate::files::wire::Fields<'_>,
                problems: &mut $crate::files::problem::Problems,
            ) -> Option<Self> {
                $(let $key = fields.take(stringify!($key), concat!($($key_doc),+), problems);)+
                Some(Self { $($key: $key?,)+ })
            }
        }

        impl schemars::JsonSchema for $name {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                stringify!($name).into()
            }
            fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
                let mut table = $crate::files::schema::Table::new(concat!($($doc),+));
                $(table.key::<$type>(stringify!($key), concat!($($key_doc),+), generator);)+
                table.finish()
            }
        }
    )+};
}
pub(super) use wire;
