//! What weather is taken from: files, standard input, or the words of a forecast.

use super::end::Refusal;
use super::files;
use crate::intake::{NotText, decode};
use crate::phrase::{Phrase, said};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// One of the things that weather is taken from.
#[derive(Debug)]
pub enum Input {
    /// A file; `-` is standard input.
    File(PathBuf),
    /// A forecast in words.
    Words(String),
}

impl Input {
    /// Returns what the words of a command name: what is no file and has a blank in it is a forecast.
    pub fn all(words: &[String]) -> Result<Vec<Self>, Refusal> {
        let is_file = |word: &String| word == "-" || Path::new(word).exists();
        if words.len() > 1
            && !words.iter().any(is_file)
            && !words.iter().any(|word| word.contains(['.', '/']) && !word.contains(' '))
        {
            return Ok(vec![Input::said(&words.join(" "))]);
        }
        let one = |word: &String| {
            let is_said = !is_file(word) && word.trim().contains(' ');
            if is_said { Input::said(word) } else { Input::File(word.into()) }
        };
        Ok(words.iter().map(one).collect())
    }

    /// Takes a forecast without the quotes that were pasted with it.
    fn said(words: &str) -> Self {
        Input::Words(
            words.trim_matches(['"', '\'', '\u{2018}', '\u{2019}', '\u{201c}', '\u{201d}']).to_string(),
        )
    }

    /// Returns whether it is standard input.
    pub fn is_standard(&self) -> bool {
        matches!(self, Input::File(path) if path == Path::new("-"))
    }

    /// Returns whether it is a forecast in words.
    pub fn is_words(&self) -> bool {
        matches!(self, Input::Words(_))
    }

    /// Returns the name that messages give it.
    pub fn name(&self) -> String {
        match self {
            Input::Words(_) => "forecast".to_string(),
            Input::File(_) if self.is_standard() => "standard input".to_string(),
            Input::File(path) => path.display().to_string(),
        }
    }

    /// Returns its text.
    pub fn text(&self) -> Result<String, Refusal> {
        let bytes = match self {
            Input::Words(words) => return Ok(words.clone()),
            Input::File(_) if self.is_standard() => {
                let mut bytes = Vec::new();
                let read = io::stdin().lock().take(files::GROVE_LIMIT).read_to_end(&mut bytes);
                read.map_err(|error| Refusal::unread("standard input", &error))?;
                bytes
            }
            Input::File(path) => files::read_bytes(path, files::GROVE_LIMIT)?,
        };
        let name = self.name();
        decode(&bytes).map(Into::into).map_err(|what| not_text(&name, what))
    }
}

/// Says what a file is that is no text, and how to get one.
fn not_text(name: &str, what: NotText) -> Refusal {
    let (what, help) = match what {
        NotText::Empty => ("is empty", "fetch or save it again"),
        NotText::Picture => ("is a picture", "save the table itself as CSV, or type the forecast in words"),
        NotText::Pdf => {
            ("is a PDF", "ask the station or service for CSV; numbers of a printed page are not read")
        }
        NotText::Workbook => {
            ("is a workbook of a spreadsheet program", "open it there and save the sheet as CSV UTF-8")
        }
        NotText::Packed => ("is a packed file", "unpack it first"),
        NotText::Other => ("is no text", "save the table as CSV UTF-8"),
    };
    Refusal::new(said!("`{name}` {what}", name, what = Phrase::from(what))).help(help)
}
