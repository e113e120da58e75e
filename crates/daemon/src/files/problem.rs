//! What is wrong with a file: where, in which words, and what would be right.

use std::fmt;
use std::ops::Range;

/// A file's name, as the person gave it, and its text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    name: String,
    text: String,
}

/// A place in a file, counted from one as editors do; columns count characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// The line.
    pub line: usize,
    /// The column.
    pub column: usize,
}

/// How much a problem matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// Good to know.
    Note,
    /// Something here is probably not meant, or does harm; the file can be used in spite of it.
    Warning,
    /// The file cannot be used.
    Error,
}

impl Weight {
    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Warning => "warning",
            Self::Error => "error",
        }
    }
}

/// One error or remark, tied to a stretch of the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    weight: Weight,
    span: Range<usize>,
    wrong: String,
    right: String,
}

impl Problem {
    /// How much it matters.
    #[must_use]
    pub const fn weight(&self) -> Weight {
        self.weight
    }

    /// What was found.
    #[must_use]
    pub fn wrong(&self) -> &str {
        &self.wrong
    }

    /// What would be right.
    #[must_use]
    pub fn right(&self) -> &str {
        &self.right
    }

    /// The stretch of the text it is about, in bytes.
    #[must_use]
    pub fn span(&self) -> Range<usize> {
        self.span.clone()
    }
}

/// A longer line is cut around its mistake: as much as stands in a terminal of usual width.
const EXCERPT_LONGEST: usize = 80;

/// Something could not be made of the file, and the problem has been recorded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Told;

/// Collects problems, so that a person sees them all at once.
#[derive(Debug, Default)]
pub(super) struct Problems(Vec<Problem>);

impl Problems {
    /// An error.
    pub(super) fn add(&mut self, span: &Range<usize>, wrong: impl Into<String>, right: impl Into<String>) {
        self.push(Weight::Error, span, wrong, right);
    }

    pub(super) fn warn(&mut self, span: &Range<usize>, wrong: impl Into<String>, right: impl Into<String>) {
        self.push(Weight::Warning, span, wrong, right);
    }

    pub(super) fn note(&mut self, span: &Range<usize>, wrong: impl Into<String>, right: impl Into<String>) {
        self.push(Weight::Note, span, wrong, right);
    }

    fn push(
        &mut self,
        weight: Weight,
        span: &Range<usize>,
        wrong: impl Into<String>,
        right: impl Into<String>,
    ) {
        self.0.push(Problem { weight, span: span.clone(), wrong: wrong.into(), right: right.into() });
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// In the order of the file, whatever the order they were found in.
    pub(super) fn in_order(mut self) -> Vec<Problem> {
        self.0.sort_by_key(|problem| problem.span.start);
        self.0.dedup();
        self.0
    }
}

impl Source {
    /// A text and the name by which messages call it.
    #[must_use]
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        Self { name: name.into(), text: text.into() }
    }

    /// The name by which messages call it.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The text.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Where a byte stands; past the end is the end.
    #[must_use]
    pub fn place(&self, byte: usize) -> Place {
        let before = &self.text[..self.boundary(byte)];
        let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
        Place { line: before.matches('\n').count() + 1, column: before[line_start..].chars().count() + 1 }
    }

    /// The nearest character boundary at or before a byte.
    fn boundary(&self, byte: usize) -> usize {
        (0..=byte.min(self.text.len())).rev().find(|&at| self.text.is_char_boundary(at)).unwrap_or(0)
    }

    /// The line a byte stands in, and the part of it a span covers, both in bytes of the line.
    fn marked_line(&self, span: &Range<usize>) -> (&str, Range<usize>) {
        let start = self.boundary(span.start);
        let line_start = self.text[..start].rfind('\n').map_or(0, |newline| newline + 1);
        let rest = &self.text[line_start..];
        let line = rest.lines().next().unwrap_or("");
        let from = (start - line_start).min(line.len());
        let to = self.boundary(span.end.max(start)).saturating_sub(line_start).min(line.len());
        (line, from..to.max(from))
    }

    /// An error or a warning with its line below it, as compilers write them and editors find them;
    /// a note in one line, which nobody takes for an error.
    fn write(&self, problem: &Problem, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Place { line, column } = self.place(problem.span.start);
        let (name, wrong, right) = (&self.name, &problem.wrong, &problem.right);
        // What is missing has no line to show.
        let is_missing = problem.span == (0..0);
        match problem.weight {
            Weight::Error => writeln!(f, "{name}:{line}:{column}: {wrong}; {right}")?,
            Weight::Warning => writeln!(f, "{name}:{line}:{column}: warning: {wrong}; {right}")?,
            Weight::Note => {
                let name = name.rsplit('/').next().unwrap_or_default();
                let line = if is_missing { String::new() } else { format!(", line {line}") };
                return writeln!(f, "note: {wrong}; {right} ({name}{line})");
            }
        }
        if is_missing { Ok(()) } else { self.write_excerpt(&problem.span, f) }
    }

    /// The line with a mark below it, cut around the mark when it is long.
    fn write_excerpt(&self, span: &Range<usize>, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (text, marked) = self.marked_line(span);
        let number = self.place(span.start).line.to_string();
        let before = text[..marked.start].chars().count();
        let first = before.saturating_sub(EXCERPT_LONGEST / 2);
        let shown: String = text.chars().skip(first).take(EXCERPT_LONGEST).collect();
        let cut_before = if first > 0 { "…" } else { "" };
        let cut_after = if text.chars().count() > first + EXCERPT_LONGEST { "…" } else { "" };
        // A tab keeps its width under itself, so the mark stays below what it marks.
        let blank = |c: char| if c == '\t' { '\t' } else { ' ' };
        let indent: String =
            cut_before.chars().chain(shown.chars().take(before - first)).map(blank).collect();
        let most = (EXCERPT_LONGEST + first).saturating_sub(before);
        let marks = "^".repeat(text[marked].chars().count().clamp(1, most.max(1)));
        writeln!(f, "  {number} | {cut_before}{shown}{cut_after}")?;
        writeln!(f, "  {} | {indent}{marks}", " ".repeat(number.len()))
    }
}

/// A file that cannot be used, with everything that is wrong with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused {
    source: Source,
    problems: Vec<Problem>,
}

impl Refused {
    pub(super) fn new(source: Source, problems: Problems) -> Self {
        Self { source, problems: problems.in_order() }
    }

    /// Everything that is wrong, in the order of the file. Never empty.
    #[must_use]
    pub fn problems(&self) -> &[Problem] {
        &self.problems
    }

    /// The file.
    #[must_use]
    pub fn source(&self) -> &Source {
        &self.source
    }
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for problem in &self.problems {
            self.source.write(problem, f)?;
        }
        let count = self.problems.len();
        write!(f, "{}: {count} {}", self.source.name, if count == 1 { "error" } else { "errors" })
    }
}

impl std::error::Error for Refused {}

/// Something usable, with what a careful colleague would say about it.
#[derive(Clone, Debug, PartialEq)]
pub struct Checked<T> {
    /// What the file says.
    pub value: T,
    /// The file.
    pub source: Source,
    /// Remarks; the file can be used in spite of them.
    pub notes: Vec<Problem>,
}

impl<T> Checked<T> {
    pub(super) fn new(value: T, source: Source, notes: Problems) -> Self {
        Self { value, source, notes: notes.in_order() }
    }

    /// How many of the remarks are warnings.
    #[must_use]
    pub fn warnings(&self) -> usize {
        self.notes.iter().filter(|note| note.weight == Weight::Warning).count()
    }

    /// Adds remarks, each in its place in the file.
    pub(super) fn remark(&mut self, notes: Problems) {
        self.notes.extend(notes.0);
        self.notes.sort_by_key(|note| note.span.start);
    }

    /// The remarks as a person reads them, warnings first; empty when there are none.
    #[must_use]
    pub fn remarks(&self) -> String {
        struct All<'a>(&'a Source, &'a [Problem]);
        impl fmt::Display for All<'_> {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                let (warnings, notes): (Vec<&Problem>, Vec<&Problem>) =
                    self.1.iter().partition(|note| note.weight >= Weight::Warning);
                warnings.into_iter().chain(notes).try_for_each(|note| self.0.write(note, f))
            }
        }
        All(&self.source, &self.notes).to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(text: &str, marked: &str) -> String {
        let start = text.find(marked).unwrap();
        let mut problems = Problems::default();
        problems.add(&(start..start + marked.len()), "wrong", "right");
        Refused::new(Source::new("x.toml", text), problems).to_string()
    }

    #[test]
    fn a_long_line_is_cut_around_its_mistake_and_the_mark_stays_below_it() {
        let text = format!("title = \"{}\", rate = WRONG, {}", "é".repeat(300), "y".repeat(300));
        let told = written(&text, "WRONG");
        let lines: Vec<&str> = told.lines().collect();
        let column = |line: &str, what: &str| line.split(what).next().unwrap().chars().count();
        assert!(lines[1].chars().count() < 95 && lines[1].ends_with('…'), "{told}");
        assert_eq!(column(lines[1], "WRONG"), column(lines[2], "^^^^^"), "{told}");
        assert!(lines[2].ends_with(" ^^^^^"), "{told}");
    }

    #[test]
    fn a_mistake_as_long_as_its_line_is_marked_within_what_is_shown() {
        let told = written(&"z".repeat(500), &"z".repeat(500));
        assert_eq!(told.lines().nth(2).unwrap().matches('^').count(), EXCERPT_LONGEST, "{told}");
    }
}
