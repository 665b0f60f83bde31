//! Papers as one HTML document: no script, no picture, nothing fetched; printed, each paper begins a new sheet.

use super::{Paper, Piece};
use std::fmt::Write;

/// How it looks on the screen and on paper: dark on white, large enough for the back of a truck.
const STYLE: &str = "\
@page { size: auto; margin: 9mm 11mm }
* { box-sizing: border-box }
body { font: 11pt/1.35 'DejaVu Sans', Verdana, sans-serif; color: #000; background: #fff; margin: 0 auto; \
max-width: 190mm; padding: 6mm }
article { break-after: page; margin-bottom: 14mm }
article:last-child { break-after: auto }
h1 { font-size: 20pt; line-height: 1.1; margin: 0 0 1mm }
.under { margin: 0; font-size: 11pt }
header { border-bottom: 1mm solid #000; padding-bottom: 2mm; margin-bottom: 3mm }
h2 { font-size: 12pt; margin: 4mm 0 1.5mm; border-bottom: 0.3mm solid #000; break-after: avoid }
section { margin: 0 0 2mm; break-inside: avoid }
section p { margin: 0 0 0 4mm }
h3 { font-size: 11pt; margin: 0 }
details { margin-left: 4mm }
summary { cursor: pointer; font-size: 10pt }
dl { display: grid; grid-template-columns: 32mm 1fr; gap: 0.6mm 3mm; margin: 0 }
.large { font-size: 15pt; font-weight: bold; line-height: 1.2; border: 0.6mm solid #000; padding: 1.5mm 2.5mm; \
margin: 1.5mm 0; break-inside: avoid }
pre { font: 11pt/1.15 'DejaVu Sans Mono', monospace; margin: 1mm 0; break-inside: avoid }
dt { font-weight: bold; overflow-wrap: anywhere }
dd { margin: 0 }
dd p, .text { margin: 0 }
.text { margin-top: 3mm }
table { border-collapse: collapse; width: 100%; margin: 1mm 0 }
th, td { border: 0.25mm solid #000; padding: 1mm 2mm; text-align: left; vertical-align: top }
th { background: #eee }
td:empty { height: 7mm }
tr { break-inside: avoid }
ul { list-style: none; margin: 0; padding: 0 }
li { padding-left: 7mm; text-indent: -7mm; margin: 0.8mm 0; break-inside: avoid }
li::before { content: ''; display: inline-block; width: 3.6mm; height: 3.6mm; border: 0.35mm solid #000; \
margin-right: 3.4mm; vertical-align: -0.4mm }
.blanks { display: grid; grid-template-columns: 1fr 1fr; gap: 2mm 6mm; break-inside: avoid }
.blanks div { border-bottom: 0.3mm solid #000; min-height: 9mm; display: flex; align-items: end; font-size: 10pt }
@media (max-width: 130mm) { table { display: block; overflow-x: auto } dl { grid-template-columns: 1fr } .blanks { grid-template-columns: 1fr } }
@media print { body { max-width: none; padding: 0; font-size: 8.8pt; line-height: 1.22 } article { margin: 0; padding-top: 1.5mm } \
h1 { font-size: 17pt } h2 { margin: 2mm 0 0.8mm; font-size: 10pt } .under { font-size: 9.5pt } \
ul { columns: 2; column-gap: 6mm } th, td { padding: 0.5mm 2mm } dl { gap: 0.2mm 3mm } li { margin: 0.4mm 0 } \
.blanks { gap: 0.8mm 6mm } .blanks div { min-height: 6.4mm; font-size: 8.5pt } }
";

/// Returns one document with all papers, in the language of a code.
pub fn html(papers: &[Paper], code: &str) -> String {
    let title = papers.first().map_or("", |paper| &paper.title);
    let mut out = format!(
        "<!DOCTYPE html>\n<html lang=\"{code}\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width\">\n<title>{}</title>\n<style>\n{STYLE}</style>\n\
         </head>\n<body>\n",
        escaped(title)
    );
    papers.iter().for_each(|paper| write(&mut out, paper));
    out.push_str("</body>\n</html>\n");
    out
}

// Writing into a text cannot fail, so its result says nothing.
fn write(out: &mut String, paper: &Paper) {
    let _ = writeln!(out, "<article>\n<header><h1>{}</h1>", escaped(&paper.title));
    for text in &paper.under {
        let _ = writeln!(out, "<p class=\"under\">{}</p>", escaped(text));
    }
    out.push_str("</header>\n");
    let mut fields = false;
    for piece in &paper.pieces {
        let is_field = matches!(piece, Piece::Field(..));
        if is_field != fields {
            out.push_str(if is_field { "<dl>\n" } else { "</dl>\n" });
            fields = is_field;
        }
        self::piece(out, piece);
    }
    out.push_str(if fields { "</dl>\n</article>\n" } else { "</article>\n" });
}

fn piece(out: &mut String, piece: &Piece) {
    let _ = match piece {
        Piece::Heading(text) => writeln!(out, "<h2>{}</h2>", escaped(text)),
        Piece::Field(label, texts) => write!(out, "{}", field(label, texts)),
        Piece::Large(label, texts) => {
            writeln!(out, "<div class=\"large\"><dl>{}</dl></div>", field(label, texts))
        }
        Piece::Drawn(lines) => {
            let lines: Vec<String> = lines.iter().map(|line| escaped(line)).collect();
            writeln!(out, "<pre>{}</pre>", lines.join("\n"))
        }
        Piece::Table(head, rows) => {
            let cells = |row: &[String], tag: &str| -> String {
                row.iter().map(|cell| format!("<{tag}>{}</{tag}>", escaped(cell))).collect()
            };
            let rows: String = rows.iter().map(|row| format!("<tr>{}</tr>\n", cells(row, "td"))).collect();
            writeln!(
                out,
                "<table>\n<thead><tr>{}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table>",
                cells(head, "th")
            )
        }
        Piece::Boxes(texts) => {
            let items: String = texts.iter().map(|text| format!("<li>{}</li>\n", escaped(text))).collect();
            writeln!(out, "<ul>\n{items}</ul>")
        }
        Piece::Blanks(labels) => {
            let places: String =
                labels.iter().map(|label| format!("<div>{}</div>", escaped(label))).collect();
            writeln!(out, "<div class=\"blanks\">{places}</div>")
        }
        Piece::Item { title, says, more, .. } if says.is_empty() && more.is_empty() => {
            writeln!(out, "<section>{}</section>", escaped(title))
        }
        Piece::Text(text) => writeln!(out, "<p class=\"text\">{}</p>", escaped(text)),
        Piece::Item { title, says, unfold, more } => {
            let says: String = says.iter().map(|text| format!("<p>{}</p>\n", escaped(text))).collect();
            let more: String = more.iter().map(|(label, texts)| field(label, texts)).collect();
            let more = if more.is_empty() {
                String::new()
            } else {
                format!("<details><summary>{}</summary>\n<dl>\n{more}</dl>\n</details>\n", escaped(unfold))
            };
            writeln!(out, "<section>\n<h3>{}</h3>\n{says}{more}</section>", escaped(title))
        }
        // Pieces have room between them.
        Piece::Gap => Ok(()),
    };
}

/// Returns texts under their label.
fn field(label: &str, texts: &[String]) -> String {
    let texts: String = texts.iter().map(|text| format!("<p>{}</p>", escaped(text))).collect();
    format!("<dt>{}</dt><dd>{texts}</dd>\n", escaped(label))
}

/// Returns a text in which nothing is taken for a tag; commands stand out, and a range of trees stays on its line.
pub(in crate::report) fn escaped(text: &str) -> String {
    let plain = text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;");
    let parts = plain.split('`').enumerate().map(|(at, part)| match at % 2 {
        0 => part.replace('–', "\u{2060}–\u{2060}"),
        _ => format!("<code>{part}</code>"),
    });
    parts.collect()
}
