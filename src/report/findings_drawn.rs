//! Findings drawn for a terminal: the lines of the text with marks under them.
//!
//! Comes in: findings, the texts they point into, the width. Goes out: text with or without colour. Where a drawing
//! would be wider than the width, the plain form stands instead.

use super::findings;
use crate::problems::{Level, Problem, Problems};
use crate::source::{SourceId, Sources, Span};
use crate::words::Language;
use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, MietteSpanContents,
    Severity, SourceCode, SourceSpan, SpanContents, ThemeCharacters, ThemeStyles,
};
use std::collections::BTreeMap;
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
pub fn drawn(
    problems: &Problems,
    sources: &Sources,
    width: usize,
    (colour, language): (Colour, Language),
) -> String {
    let said = language.problems(problems);
    said.iter().map(|problem| one(problem, sources, width, (colour, language))).collect::<Vec<_>>().join("\n")
}

/// Files above this many bytes are not drawn: their lines would be copied for each finding.
const DRAWN_UP_TO: usize = 1 << 20;

fn one(problem: &Problem, sources: &Sources, width: usize, (colour, language): (Colour, Language)) -> String {
    let places = std::iter::once(problem.at).chain(problem.related.iter().map(|(at, _)| *at));
    let size = |at: Span| sources.get(at.source).map_or(0, |source| source.text.len());
    if places.map(size).any(|size| size > DRAWN_UP_TO) {
        return findings::one(problem, sources, width, language);
    }
    let handler = GraphicalReportHandler::new_themed(theme(problem.finding.code(), colour, language))
        .with_width(width)
        .with_links(false)
        .with_word_separator(WordSeparator::AsciiSpace)
        .with_word_splitter(WordSplitter::NoHyphenation);
    let mut text = String::new();
    let drawing = Drawing::new(problem, sources, width, language);
    let fits = handler.render_report(&mut text, &drawing).is_ok()
        && text.lines().all(|line| textwrap::core::display_width(line) <= width);
    if fits { text } else { findings::one(problem, sources, width, language) }
}

/// Returns the look of a drawing: the level in words with the finding's code, a thin frame, carets under what is meant.
fn theme(code: &str, colour: Colour, language: Language) -> GraphicalTheme {
    let characters = ThemeCharacters {
        error: format!("{}[{code}]:", findings::level_word(Level::Error, language)),
        warning: format!("{}[{code}]:", findings::level_word(Level::Warning, language)),
        advice: language.say("finding.see-also", &[]),
        hbar: '─',
        vbar: '│',
        vbar_break: '┊',
        ltop: '┌',
        lbot: '└',
        lbox: ' ',
        rbox: ' ',
        underbar: '^',
        underline: '^',
        ..ThemeCharacters::unicode()
    };
    let styles = match colour {
        Colour::Plain => ThemeStyles::none(),
        Colour::Coloured => {
            let ansi = ThemeStyles::ansi();
            ThemeStyles {
                error: ansi.error.bold(),
                warning: ansi.warning.bold(),
                advice: ansi.linum,
                help: ansi.help.bold(),
                link: ThemeStyles::none().link.bold(),
                linum: ansi.linum,
                highlights: vec![ansi.help.bold()],
            }
        }
    };
    GraphicalTheme { characters, styles }
}

/// A finding, or what belongs to it in another file, as the drawing library asks for it.
struct Drawing {
    message: String,
    severity: Severity,
    help: Option<String>,
    labels: Vec<LabeledSpan>,
    source: Excerpt,
    elsewhere: Vec<Drawing>,
}

impl Drawing {
    fn new(problem: &Problem, sources: &Sources, width: usize, language: Language) -> Self {
        let file = problem.at.source;
        let here = problem.related.iter().filter(|(at, _)| at.source == file);
        let marks: Vec<(Span, &str)> = std::iter::once((problem.at, &*problem.label))
            .chain(here.map(|(at, says)| (*at, &**says)))
            .collect();
        let (source, labels) = clipped(sources, file, &marks, width);
        let elsewhere = problem.related.iter().filter(|(at, _)| at.source != file).map(|(at, says)| {
            let (source, labels) = clipped(sources, at.source, &[(*at, "")], width);
            let (message, severity) = (says.to_string(), Severity::Advice);
            Self { message, severity, help: None, labels, source, elsewhere: Vec::new() }
        });
        let situation = findings::situation(problem)
            .map(|words| language.say("finding.example.with", &[("words", &words)]));
        let help: Vec<&str> = [situation.as_deref(), problem.help.as_deref()].into_iter().flatten().collect();
        Self {
            message: problem.message.to_string(),
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
) -> (Excerpt, Vec<LabeledSpan>) {
    let Some(source) = sources.get(file) else { return (Excerpt::default(), Vec::new()) };
    // The drawing's margin: its frame and the line's number.
    let room = width.saturating_sub(12).max(8);
    let places: Vec<_> = marks.iter().map(|(at, _)| source.place(at.start as usize)).collect();
    let mut excerpt = Excerpt { name: source.name.to_string(), ..Excerpt::default() };
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
            excerpt.columns.insert(excerpt.text.len() + start, place.column - 1);
            labels.push(LabeledSpan::new(label, excerpt.text.len() + start, end - start));
        }
        excerpt.text += &shown;
        excerpt.text.push('\n');
    }
    (excerpt, labels)
}

/// A file with its lines cut, that still knows where in the file each mark is.
#[derive(Default)]
struct Excerpt {
    name: String,
    text: String,
    /// The column of each mark in the file, from zero, by where the mark begins in the text.
    columns: BTreeMap<usize, usize>,
}

impl SourceCode for Excerpt {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        lines_before: usize,
        lines_after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let shown = self.text.read_span(span, lines_before, lines_after)?;
        let column = self.columns.get(&span.offset()).copied().unwrap_or(shown.column());
        Ok(Box::new(MietteSpanContents::new_named(
            self.name.clone(),
            shown.data(),
            *shown.span(),
            shown.line(),
            column,
            shown.line_count(),
        )))
    }
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
