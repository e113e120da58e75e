//! Values chosen from a few words.

/// Defines an enum whose variants are words in a file, with its reader and its schema.
macro_rules! words {
    (
        $(#[doc = $doc:literal])+
        $vis:vis enum $name:ident, $schema_name:literal, $meaning:literal {
            $($(#[doc = $word_doc:literal])+ $variant:ident = $word:literal,)+
        }
    ) => {
        $(#[doc = $doc])+
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        $vis enum $name { $($(#[doc = $word_doc])+ $variant,)+ }

        impl $name {
            /// Every one of them.
            $vis const ALL: &'static [Self] = &[$(Self::$variant,)+];

            /// The word in files.
            #[must_use]
            $vis const fn name(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ }
            }
        }

        impl schemars::JsonSchema for $name {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                $schema_name.into()
            }
            fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
                schemars::json_schema!({ "type": "string", "enum": [$($word,)+] })
            }
        }

        impl $crate::files::wire::Wire for $name {
            fn read(
                node: &$crate::files::wire::Node<'_>,
                problems: &mut $crate::files::problem::Problems,
            ) -> Option<Self> {
                let words: Vec<&str> = Self::ALL.iter().map(|choice| choice.name()).collect();
                let position = $crate::files::wire::choose(node, &words, $meaning, problems)?;
                Self::ALL.get(position).copied()
            }
        }
    };
}
pub(super) use words;
