//! Findings drawn for a terminal: the lines of the text with marks under them.
//!
//! Comes in: findings, the texts they point into, the width. Goes out: text with or without colour. Where a drawing
//! would be wider than the width, the plain form stands instead.

use super::findings;
use crate::problems::{Level, Problem, Problems};
use crate::source::{SourceId, Sources, Span};
use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, NamedSource, Severity, SourceCode,
};
use std::fmt;
use textwrap::{WordSeparator, WordSplitter};

/// Whether a drawing may be coloured.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Colour {
    /// It may.
    Coloured,
    /// It stays without.
    Plain,
}

/// Returns the findings drawn, of which no line is longer than the width, one below the other.
pub fn drawn(problems: &Problems, sources: &Sources, width: usize, colour: Colour) -> String {
    problems.iter().map(|problem| one(problem, sources, width, colour)).collect::<Vec<_>>().join("\n")
}

/// Files above this many bytes are not drawn: their lines would be copied for each finding.
const DRAWN_UP_TO: usize = 1 << 20;

fn one(problem: &Problem, sources: &Sources, width: usize, colour: Colour) -> String {
    let places = std::iter::once(problem.at).chain(problem.related.iter().map(|(at, _)| *at));
    let size = |at: Span| sources.get(at.source).map_or(0, |source| source.text.len());
    if places.map(size).any(|size| size > DRAWN_UP_TO) {
        return findings::one(problem, sources, width);
    }
    let theme = match colour {
        Colour::Coloured => GraphicalTheme::unicode(),
        Colour::Plain => GraphicalTheme::unicode_nocolor(),
    };
    let handler = GraphicalReportHandler::new_themed(theme)
        .with_width(width)
        .with_links(false)
        .with_word_separator(WordSeparator::AsciiSpace)
        .with_word_splitter(WordSplitter::NoHyphenation);
    let mut text = String::new();
    let drawing = Drawing::new(problem, sources, width);
    let fits = handler.render_report(&mut text, &drawing).is_ok()
        && text.lines().all(|line| textwrap::core::display_width(line) <= width);
    if fits { text } else { findings::one(problem, sources, width) }
}

/// A finding, or what belongs to it in another file, as the drawing library asks for it.
struct Drawing {
    message: String,
    code: Option<&'static str>,
    severity: Severity,
    help: Option<String>,
    labels: Vec<LabeledSpan>,
    source: NamedSource<String>,
    elsewhere: Vec<Drawing>,
}

impl Drawing {
    fn new(problem: &Problem, sources: &Sources, width: usize) -> Self {
        let file = problem.at.source;
        let here = problem.related.iter().filter(|(at, _)| at.source == file);
        let marks: Vec<(Span, &str)> = std::iter::once((problem.at, problem.label.as_str()))
            .chain(here.map(|(at, says)| (*at, says.as_str())))
            .collect();
        let (source, labels) = clipped(sources, file, &marks, width);
        let elsewhere = problem.related.iter().filter(|(at, _)| at.source != file).map(|(at, says)| {
            let (source, labels) = clipped(sources, at.source, &[(*at, "")], width);
            let (message, severity) = (says.clone(), Severity::Advice);
            Self { message, code: None, severity, help: None, labels, source, elsewhere: Vec::new() }
        });
        let situation = findings::situation(problem).map(|words| format!("for example with {words}"));
        let help: Vec<&str> = [&situation, &problem.help].into_iter().flatten().map(String::as_str).collect();
        Self {
            message: problem.message.clone(),
            code: Some(problem.finding.code()),
            severity: match problem.finding.level() {
                Level::Error => Severity::Error,
                Level::Warning => Severity::Warning,
            },
            help: (!help.is_empty()).then(|| help.join("\n")),
            labels,
            source,
            elsewhere: elsewhere.collect(),
        }
    }
}

/// Returns a text with its lines cut to the width around the marks on them, and the marks in that text.
fn clipped(
    sources: &Sources,
    file: SourceId,
    marks: &[(Span, &str)],
    width: usize,
) -> (NamedSource<String>, Vec<LabeledSpan>) {
    let Some(source) = sources.get(file) else {
        return (NamedSource::new("?", String::new()), Vec::new());
    };
    // The drawing's margin: its frame and the line's number.
    let room = width.saturating_sub(12).max(8);
    let places: Vec<_> = marks.iter().map(|(at, _)| source.place(at.start as usize)).collect();
    let mut text = String::with_capacity(source.text.len());
    let mut labels = Vec::new();
    for (before, line) in source.text.lines().enumerate() {
        let on_line = || places.iter().zip(marks).filter(|(place, _)| place.line == before + 1);
        let first = on_line().map(|(place, _)| place.column - 1).min();
        let (shown, at) = findings::cut(line, first.unwrap_or(0), room);
        for (place, (span, says)) in on_line() {
            let from = at + (place.column - 1) - first.unwrap_or(0);
            let wide = sources.words(*span).lines().next().map_or(0, |words| words.chars().count());
            let bytes = |signs: usize| shown.chars().take(signs).map(char::len_utf8).sum::<usize>();
            let (start, end) = (bytes(from), bytes(from + wide));
            let label = (!says.is_empty()).then(|| (*says).to_owned());
            labels.push(LabeledSpan::new(label, text.len() + start, end - start));
        }
        text += &shown;
        text.push('\n');
    }
    (NamedSource::new(&source.name, text), labels)
}

impl fmt::Display for Drawing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl fmt::Debug for Drawing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Drawing {}

impl Diagnostic for Drawing {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.code.map(|code| Box::new(code) as Box<dyn fmt::Display>)
    }

    fn severity(&self) -> Option<Severity> {
        Some(self.severity)
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.help.as_ref().map(|help| Box::new(help) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.source)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(self.labels.iter().cloned()))
    }

    fn related<'a>(&'a self) -> Option<Box<dyn Iterator<Item = &'a dyn Diagnostic> + 'a>> {
        (!self.elsewhere.is_empty()).then(|| {
            Box::new(self.elsewhere.iter().map(|it| it as &dyn Diagnostic)) as Box<dyn Iterator<Item = _>>
        })
    }
}
