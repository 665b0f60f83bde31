//! Texts and places in them: what a span is, and which line and column it stands at.
//!
//! Comes in: the text of files. Goes out: byte spans, lines and columns. Knows no rulebook.

use std::fmt;
use std::sync::Arc;

/// A piece of one source text, as byte offsets.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Span {
    /// Which text of the [`Sources`].
    pub source: SourceId,
    /// The first byte.
    pub start: u32,
    /// The byte after the last.
    pub end: u32,
}

impl Span {
    /// Makes a span of a source from byte offsets.
    pub fn new(source: SourceId, start: usize, end: usize) -> Self {
        let clip = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        Self { source, start: clip(start), end: clip(end.max(start)) }
    }

    /// Returns the smallest span that covers this one and the other.
    pub fn to(self, other: Span) -> Self {
        Self { source: self.source, start: self.start.min(other.start), end: self.end.max(other.end) }
    }
}

impl fmt::Debug for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}..{}", self.start, self.end)
    }
}

/// The number of a text in its [`Sources`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Debug)]
pub struct SourceId(pub u16);

/// One text with its name and the starts of its lines.
#[derive(Clone, Debug)]
pub struct Source {
    /// The name that messages print: a path as the user gave it.
    pub name: Arc<str>,
    /// The whole text.
    pub text: Arc<str>,
    line_starts: Vec<u32>,
}

/// All texts of one run; spans point into it.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    texts: Vec<Source>,
}

/// A line and a column, both from one; the column counts characters.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Place {
    /// The line, from 1.
    pub line: usize,
    /// The column in characters, from 1.
    pub column: usize,
}

impl Sources {
    /// Adds a text and returns its number.
    pub fn add(&mut self, name: impl Into<Arc<str>>, text: impl Into<Arc<str>>) -> SourceId {
        let id = SourceId(u16::try_from(self.texts.len()).unwrap_or(u16::MAX));
        let text = text.into();
        let starts = text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n').map(|(at, _)| at as u32 + 1);
        let line_starts = std::iter::once(0).chain(starts).collect();
        self.texts.push(Source { name: name.into(), text, line_starts });
        id
    }

    /// Returns the text with this number.
    pub fn get(&self, id: SourceId) -> Option<&Source> {
        self.texts.get(usize::from(id.0))
    }

    /// Returns all texts in the order in which they were added.
    pub fn iter(&self) -> impl Iterator<Item = &Source> {
        self.texts.iter()
    }

    /// Returns the words under a span, empty where it lies outside its text.
    pub fn words(&self, span: Span) -> &str {
        self.get(span.source)
            .and_then(|source| source.text.get(span.start as usize..span.end as usize))
            .unwrap_or_default()
    }

    /// Returns the place where a span begins.
    pub fn place(&self, span: Span) -> Place {
        self.get(span.source).map_or(Place { line: 1, column: 1 }, |source| source.place(span.start as usize))
    }

    /// Returns `file:line:column` of a span's beginning.
    pub fn locate(&self, span: Span) -> String {
        let place = self.place(span);
        let name = self.get(span.source).map_or("?", |source| &source.name);
        format!("{name}:{}:{}", place.line, place.column)
    }
}

impl Source {
    /// Returns the place of a byte offset; past the end it is the last place.
    pub fn place(&self, offset: usize) -> Place {
        let line = self.line_starts.partition_point(|start| *start as usize <= offset).max(1);
        let start = self.line_starts.get(line - 1).map_or(0, |start| *start as usize);
        let column =
            self.text.get(start..offset.min(self.text.len())).map_or(1, |text| text.chars().count() + 1);
        Place { line, column }
    }

    /// Returns a line's text without its end, for a line number from one.
    pub fn line(&self, line: usize) -> &str {
        let start = self.line_starts.get(line.saturating_sub(1)).map_or(0, |start| *start as usize);
        self.text.get(start..).and_then(|rest| rest.lines().next()).unwrap_or_default()
    }
}
