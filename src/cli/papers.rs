//! How papers leave the program: in which language and form, and where to.

use super::end::Refusal;
use super::files;
use super::terminal::{Format, LineLength, Stream};
use crate::grove::UnitSystem;
use crate::phrase::said;
use crate::problems::nearest;
use crate::report::filling::paragraph;
use crate::report::paper::{self, Paper, SheetSize};
use crate::words::Language;
use std::path::PathBuf;

/// The flags of a command that prints papers.
#[derive(clap::Args, Debug)]
pub struct Papers {
    #[command(flatten)]
    pub language: PageLanguage,
    /// What is printed: text, a page of HTML or a PDF to print on paper, JSON for programs
    #[arg(long, value_name = "FORM", value_enum, default_value_t = PaperFormat::Text)]
    format: PaperFormat,
    /// Writes to a file instead of the screen; one that is there is replaced
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Prints the JSON Schema of the JSON form
    #[arg(long)]
    pub schema: bool,
    #[command(flatten)]
    pub lines: LineLength,
}

/// In which language a page is printed.
#[derive(clap::Args, Debug)]
pub struct PageLanguage {
    /// The language of the page: en, es. What the rulebook says comes from the translation beside it
    #[arg(long, value_name = "CODE", default_value = "en")]
    language: String,
}

impl PageLanguage {
    /// Returns its code as it was typed.
    pub fn code(&self) -> &str {
        &self.language
    }

    /// Returns the language.
    pub fn chosen(&self) -> Result<Language, Refusal> {
        language(&self.language)
    }

    /// Returns the language of a form: what programs read is the same in every language.
    pub fn chosen_for(&self, format: Format) -> Result<Language, Refusal> {
        let chosen = self.chosen()?;
        Ok(if format == Format::Json { Language::English } else { chosen })
    }
}

/// The form in which papers are printed.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum PaperFormat {
    /// For people.
    Text,
    /// For a browser or a printer.
    Html,
    /// For a printer.
    Pdf,
    /// For programs.
    Json,
}

impl Papers {
    /// Refuses what cannot be printed, before any work is done: a PDF on a terminal.
    pub fn possible(&self) -> Result<(), Refusal> {
        if self.format == PaperFormat::Pdf && self.out.is_none() && Stream::Results.is_terminal() {
            let refusal = Refusal::new("a PDF is no text, and this is a terminal");
            return Err(refusal.help("name a file: `--out sheet.pdf`"));
        }
        Ok(())
    }

    /// Returns whether programs read what is printed.
    pub fn is_json(&self) -> bool {
        self.format == PaperFormat::Json
    }

    /// Returns whether it is text.
    pub fn is_text(&self) -> bool {
        self.format == PaperFormat::Text
    }

    /// Returns the bytes of the form that was asked for: of papers, or the text of their JSON.
    pub fn made(
        &self,
        papers: impl Fn() -> Vec<Paper>,
        json: impl Fn() -> String,
        language: Language,
        units: UnitSystem,
    ) -> Vec<u8> {
        match self.format {
            PaperFormat::Json => json().into_bytes(),
            PaperFormat::Text => paper::text(&papers(), Stream::Results.width(self.lines.width)).into_bytes(),
            PaperFormat::Html => paper::html(&papers(), language.code()).into_bytes(),
            PaperFormat::Pdf => {
                let sheet = match units {
                    UnitSystem::Us => SheetSize::LETTER,
                    UnitSystem::Metric => SheetSize::A4,
                };
                let printed = paper::pdf(&papers(), language.code(), sheet);
                if !printed.missing.is_empty() {
                    let signs: String = printed.missing.iter().collect();
                    let note = said!(
                        "note: the typeface of the PDF has no character for {signs}; a question mark stands there. `--format html` has \
                         them all.",
                        signs
                    );
                    // Where standard error cannot be written nobody is there to be told.
                    let _ = Stream::Diagnostics.print(&paragraph(
                        &language.phrase(&note),
                        Stream::Diagnostics.width(self.lines.width),
                    ));
                }
                printed.bytes
            }
        }
    }

    /// Prints what was made, or writes it to the file.
    pub fn print(&self, made: &[u8]) -> Result<(), Refusal> {
        match &self.out {
            None => Stream::Results.print_bytes(made),
            Some(file) => {
                files::put(file, made)?;
                let note = said!("Written to `{file}`.", file = file.display());
                Stream::Diagnostics.print(&(super::reader::language().phrase(&note) + "\n"))
            }
        }
    }
}

/// Returns the language of a code.
pub fn language(code: &str) -> Result<Language, Refusal> {
    Language::of_code(code).ok_or_else(|| {
        let codes = || Language::ALL.iter().map(|(_, code, _)| *code);
        let refusal = Refusal::new(said!("there is no language `{code}`", code));
        match nearest(code, codes()) {
            Some(near) => refusal.help(said!("did you mean `{near}`?", near)),
            None => refusal.help(said!("there are {codes}", codes = codes().collect::<Vec<_>>().join(", "))),
        }
    })
}
