//! Bytes to text: UTF-8, UTF-16 by its mark or its zeros, else the Western code page of old spreadsheets.

use encoding_rs::{UTF_16BE, UTF_16LE, WINDOWS_1252};
use std::borrow::Cow;

/// What a file is that is no text.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum NotText {
    /// It has not one byte that says anything.
    Empty,
    /// A picture.
    Picture,
    /// A PDF.
    Pdf,
    /// A workbook of a spreadsheet program.
    Workbook,
    /// A packed file.
    Packed,
    /// Something else that no text editor reads.
    Other,
}

/// By what files begin that are no text.
const BEGINNINGS: &[(&[u8], NotText)] = &[
    (b"%PDF", NotText::Pdf),
    (b"\x89PNG", NotText::Picture),
    (b"\xff\xd8\xff", NotText::Picture),
    (b"GIF8", NotText::Picture),
    (b"II*\0", NotText::Picture),
    (b"MM\0*", NotText::Picture),
    (b"BM", NotText::Picture),
    (b"PK\x03\x04", NotText::Workbook),
    (b"\xd0\xcf\x11\xe0", NotText::Workbook),
    (b"\x1f\x8b", NotText::Packed),
    (b"BZh", NotText::Packed),
    (b"7z\xbc\xaf", NotText::Packed),
    (b"\xfd7zXZ", NotText::Packed),
];

/// Makes text of the bytes of a file.
///
/// # Errors
/// Says what it is, where it is no text.
pub fn decode(bytes: &[u8]) -> Result<Cow<'_, str>, NotText> {
    if bytes.iter().all(|byte| byte.is_ascii_whitespace() || *byte == 0) {
        return Err(NotText::Empty);
    }
    let known = BEGINNINGS.iter().find(|(begin, _)| bytes.starts_with(begin));
    let two_letters = |what: NotText| what == NotText::Picture && bytes.starts_with(b"BM");
    if let Some((_, what)) = known
        && !(two_letters(*what) && std::str::from_utf8(bytes).is_ok())
    {
        return Err(*what);
    }
    let sixteen = match bytes {
        [0xff, 0xfe, ..] => Some(UTF_16LE),
        [0xfe, 0xff, ..] => Some(UTF_16BE),
        _ => zeros(bytes),
    };
    let text = match sixteen {
        Some(encoding) => encoding.decode(bytes).0,
        None => {
            let bare = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
            match std::str::from_utf8(bare) {
                Ok(text) => Cow::Borrowed(text),
                Err(_) => WINDOWS_1252.decode_without_bom_handling(bare).0,
            }
        }
    };
    let strange = |letter: &char| letter.is_control() && !matches!(letter, '\n' | '\r' | '\t' | '\u{1a}');
    let start: Vec<char> = text.chars().take(4096).collect();
    if start.iter().filter(|letter| strange(letter)).count() * 100 > start.len() {
        return Err(NotText::Other);
    }
    Ok(text)
}

/// Finds UTF-16 without a mark: of plain text every second byte is zero.
fn zeros(bytes: &[u8]) -> Option<&'static encoding_rs::Encoding> {
    let start = bytes.get(..bytes.len().min(2048)).unwrap_or_default();
    let share = |odd: usize| {
        let zeros = start.iter().skip(odd).step_by(2).filter(|byte| **byte == 0).count();
        zeros * 10 > start.len() / 2 * 8
    };
    match (start.len() >= 8, share(1), share(0)) {
        (true, true, false) => Some(UTF_16LE),
        (true, false, true) => Some(UTF_16BE),
        _ => None,
    }
}
