//! Papers as a PDF to print: each begins a page, and stays on one where it can be read there.
//!
//! The page is laid out as the text form is, in a type of fixed width (Courier, which every reader of PDF has; nothing is
//! embedded), its columns and size chosen so that the paper fills the page. Same papers, same bytes.

use super::Paper;
use super::layout::{Line, lay};
use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, Str, TextStr};
use std::collections::BTreeSet;

/// The size of a sheet, in points of 1/72 inch.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct SheetSize {
    width: f32,
    height: f32,
}

impl SheetSize {
    /// 8.5 by 11 inches.
    pub const LETTER: SheetSize = SheetSize { width: 612.0, height: 792.0 };
    /// 210 by 297 mm (ISO 216).
    pub const A4: SheetSize = SheetSize { width: 595.276, height: 841.89 };
}

/// A document.
#[derive(Clone, PartialEq, Debug)]
pub struct Printed {
    /// The bytes of the file.
    pub bytes: Vec<u8>,
    /// How many pages each paper takes.
    pub pages: Vec<usize>,
    /// Characters that the typeface does not have; a question mark stands for each.
    pub missing: BTreeSet<char>,
}

/// The white edge of a page.
const EDGE: f32 = 38.0;
/// From one line to the next, by the size of the type.
const PITCH: f32 = 1.17;
/// How wide a letter of Courier is, by its size (600 of 1000 units).
const LETTER_WIDTH: f32 = 0.6;
/// The largest type and the smallest that is read in a grove at dawn.
const SIZES: (f32, f32) = (10.5, 7.2);
/// How many columns are tried.
const COLUMNS: [usize; 4] = [80, 86, 94, 104];

/// How much larger the words are that nobody may overlook.
const LARGE: f32 = 1.5;

const PLAIN: Name = Name(b"P");
const BOLD: Name = Name(b"B");

/// Returns a document with all papers, in the language of a code.
pub fn pdf(papers: &[Paper], code: &str, sheet: SheetSize) -> Printed {
    let mut missing = BTreeSet::new();
    let laid: Vec<Laid> = papers.iter().map(|paper| Laid::of(paper, sheet)).collect();
    let pages: Vec<usize> = laid.iter().map(|laid| laid.pages(sheet).len()).collect();
    let mut bodies: Vec<Vec<u8>> = Vec::new();
    for laid in &laid {
        let pages = laid.pages(sheet);
        for (at, lines) in pages.iter().enumerate() {
            let more = (pages.len() > 1).then(|| format!("{}  ({}/{})", laid.title(), at + 1, pages.len()));
            bodies.push(body(lines, more.as_deref().filter(|_| at > 0), laid.size, sheet, &mut missing));
        }
    }
    let mut next = 0;
    let mut reference = || {
        next += 1;
        Ref::new(next)
    };
    let (catalog, tree, about, plain, bold) =
        (reference(), reference(), reference(), reference(), reference());
    let places: Vec<(Ref, Ref)> = bodies.iter().map(|_| (reference(), reference())).collect();
    let mut pdf = Pdf::new();
    pdf.catalog(catalog).pages(tree).lang(TextStr(code));
    let title = papers.first().map_or("", |paper| &paper.title);
    pdf.document_info(about).title(TextStr(title));
    let count = i32::try_from(places.len()).unwrap_or(i32::MAX);
    pdf.pages(tree).kids(places.iter().map(|(page, _)| *page)).count(count);
    for (font, name) in [(plain, b"Courier".as_slice()), (bold, b"Courier-Bold")] {
        pdf.type1_font(font).base_font(Name(name)).encoding_predefined(Name(b"WinAnsiEncoding"));
    }
    for ((page, content), body) in places.iter().zip(&bodies) {
        let mut made = pdf.page(*page);
        made.parent(tree).media_box(Rect::new(0.0, 0.0, sheet.width, sheet.height)).contents(*content);
        let mut resources = made.resources();
        resources.fonts().pair(PLAIN, plain).pair(BOLD, bold);
        resources.finish();
        made.finish();
        pdf.stream(*content, body);
    }
    Printed { bytes: pdf.finish(), pages, missing }
}

/// A paper in lines of some columns, and the size of its type.
struct Laid {
    lines: Vec<Line>,
    size: f32,
}

impl Line {
    /// Returns how much of the height of a plain line it takes.
    fn height(&self) -> f32 {
        match self {
            Line::Title(_) => 1.6,
            Line::Heading(_) | Line::Plain(_) => 1.0,
            Line::Large(_) => LARGE,
            Line::Written(_) => 1.6,
            Line::Rule(_) => 0.45,
        }
    }
}

impl Laid {
    /// Lays a paper out in the columns that give the largest type on one page; where even that is too small to be read,
    /// it goes on to a second one.
    fn of(paper: &Paper, sheet: SheetSize) -> Self {
        let mut best: Option<Laid> = None;
        for columns in COLUMNS {
            let lines = lay(paper, columns, LARGE);
            let height: f32 = lines.iter().map(Line::height).sum();
            let wide = (sheet.width - 2.0 * EDGE) / (LETTER_WIDTH * columns as f32);
            let high = (sheet.height - 2.0 * EDGE) / (PITCH * height.max(1.0));
            let size = wide.min(high).min(SIZES.0);
            if best.as_ref().is_none_or(|best| size > best.size) {
                best = Some(Laid { lines, size });
            }
        }
        let mut laid = best.unwrap_or(Laid { lines: Vec::new(), size: SIZES.0 });
        if laid.size < SIZES.1 {
            let columns = COLUMNS[0];
            laid.lines = lay(paper, columns, LARGE);
            laid.size = ((sheet.width - 2.0 * EDGE) / (LETTER_WIDTH * columns as f32)).min(SIZES.0 - 1.0);
        }
        laid
    }

    fn title(&self) -> &str {
        match self.lines.first() {
            Some(Line::Title(title)) => title,
            Some(_) | None => "",
        }
    }

    /// Returns its lines page by page; a heading is not left alone at the foot of one.
    fn pages(&self, sheet: SheetSize) -> Vec<Vec<Line>> {
        let room = (sheet.height - 2.0 * EDGE) / (PITCH * self.size) + 1e-3;
        let mut pages: Vec<Vec<Line>> = vec![Vec::new()];
        let mut used = 0.0;
        for line in &self.lines {
            let needed = if matches!(line, Line::Heading(_)) { 3.5 } else { line.height() };
            let full = used + needed > room;
            if full {
                pages.push(Vec::new());
                used = 2.7;
            }
            let Some(page) = pages.last_mut() else { continue };
            // A page does not begin with a gap.
            if page.is_empty() && full && *line == Line::Plain(String::new()) {
                continue;
            }
            used += line.height();
            page.push(line.clone());
        }
        pages
    }
}

/// Returns what is drawn on a page.
fn body(
    lines: &[Line],
    head: Option<&str>,
    size: f32,
    sheet: SheetSize,
    missing: &mut BTreeSet<char>,
) -> Vec<u8> {
    let mut content = Content::new();
    let mut top = sheet.height - EDGE;
    let mut write = |content: &mut Content, text: &str, font: Name, size: f32, at: f32| {
        content.begin_text().set_font(font, size).next_line(EDGE, at);
        content.show(Str(&encoded(text, missing))).end_text();
    };
    if let Some(head) = head {
        write(&mut content, head, BOLD, size, top - size);
        top -= 2.7 * PITCH * size;
    }
    for line in lines {
        let height = line.height() * PITCH * size;
        // The foot of the letters, a fifth of their size above that of the line.
        let foot = top - height + 0.25 * size;
        match line {
            Line::Title(text) => write(&mut content, text, BOLD, size * 1.4, foot),
            Line::Heading(text) => write(&mut content, text, BOLD, size, foot),
            Line::Large(text) => write(&mut content, text, BOLD, size * LARGE, foot),
            Line::Plain(text) | Line::Written(text) => write(&mut content, text, PLAIN, size, foot),
            Line::Rule(_) => {
                let at = top - height * 0.4;
                content.set_line_width(0.7).move_to(EDGE, at).line_to(sheet.width - EDGE, at).stroke();
            }
        }
        top -= height;
    }
    content.finish().to_vec()
}

/// Returns a text in the encoding of the type (Windows code page 1252, PDF 32000-1 annex D).
fn encoded(text: &str, missing: &mut BTreeSet<char>) -> Vec<u8> {
    const ABOVE: [(char, u8); 27] = [
        ('€', 0x80),
        ('‚', 0x82),
        ('ƒ', 0x83),
        ('„', 0x84),
        ('…', 0x85),
        ('†', 0x86),
        ('‡', 0x87),
        ('ˆ', 0x88),
        ('‰', 0x89),
        ('Š', 0x8a),
        ('‹', 0x8b),
        ('Œ', 0x8c),
        ('Ž', 0x8e),
        ('‘', 0x91),
        ('’', 0x92),
        ('“', 0x93),
        ('”', 0x94),
        ('•', 0x95),
        ('–', 0x96),
        ('—', 0x97),
        ('˜', 0x98),
        ('™', 0x99),
        ('š', 0x9a),
        ('›', 0x9b),
        ('œ', 0x9c),
        ('ž', 0x9e),
        ('Ÿ', 0x9f),
    ];
    let sign = |sign: char| match sign {
        ' '..='~' => Some(sign as u8),
        '\u{a0}' | '\u{202f}' | '\u{2009}' => Some(b' '),
        '\u{2212}' | '\u{2011}' => Some(b'-'),
        '\u{a1}'..='\u{ff}' => u8::try_from(u32::from(sign)).ok(),
        other => ABOVE.iter().find(|(known, _)| *known == other).map(|(_, byte)| *byte),
    };
    let shown = text.chars().filter(|sign| !matches!(sign, '\u{2060}' | '\u{200b}'));
    shown
        .map(|wanted| {
            sign(wanted).unwrap_or_else(|| {
                missing.insert(wanted);
                b'?'
            })
        })
        .collect()
}
