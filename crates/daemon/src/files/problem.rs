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

/// One error or remark, tied to a stretch of the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    span: Range<usize>,
    wrong: String,
    right: String,
}

impl Problem {
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

/// Something could not be made of the file, and the problem has been recorded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Told;

/// Collects problems, so that a person sees them all at once.
#[derive(Debug, Default)]
pub(super) struct Problems(Vec<Problem>);

impl Problems {
    pub(super) fn add(&mut self, span: &Range<usize>, wrong: impl Into<String>, right: impl Into<String>) {
        self.0.push(Problem { span: span.clone(), wrong: wrong.into(), right: right.into() });
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

    fn write(&self, problem: &Problem, kind: &str, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Place { line, column } = self.place(problem.span.start);
        writeln!(f, "{}:{line}:{column}: {kind}{}; {}", self.name, problem.wrong, problem.right)?;
        let (text, marked) = self.marked_line(&problem.span);
        let number = line.to_string();
        // A tab keeps its width under itself, so the mark stays below what it marks.
        let indent: String =
            text[..marked.start].chars().map(|c| if c == '\t' { '\t' } else { ' ' }).collect();
        let marks = "^".repeat(text[marked].chars().count().max(1));
        writeln!(f, "  {number} | {text}")?;
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
            self.source.write(problem, "", f)?;
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

    /// The remarks as a person reads them, with line and column; empty when there are none.
    #[must_use]
    pub fn remarks(&self) -> String {
        struct All<'a>(&'a Source, &'a [Problem]);
        impl fmt::Display for All<'_> {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.1.iter().try_for_each(|note| self.0.write(note, "note: ", f))
            }
        }
        All(&self.source, &self.notes).to_string()
    }
}
