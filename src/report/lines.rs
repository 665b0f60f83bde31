//! Lines of a page: wrapped at words, never longer than the width, labels in a column where there is room for one.

use textwrap::core::display_width;

/// A page being written.
#[derive(Clone, Debug)]
pub struct Lines {
    width: usize,
    out: String,
}

/// The narrowest page that has a column for labels.
const COLUMN_FROM: usize = 60;
/// How wide that column is.
const COLUMN: usize = 14;

impl Lines {
    /// Begins a page of a width from 20 to 200.
    pub fn new(width: usize) -> Self {
        Self { width: width.clamp(20, 200), out: String::new() }
    }

    /// Returns whether there is room for tables.
    pub fn is_wide(&self) -> bool {
        self.width >= COLUMN_FROM
    }

    /// Returns the width.
    pub fn width(&self) -> usize {
        self.width
    }

    /// Adds an empty line, but never two.
    pub fn blank(&mut self) {
        if !self.out.is_empty() && !self.out.ends_with("\n\n") {
            self.out.push('\n');
        }
    }

    /// Adds a text; its further lines are indented by two more.
    pub fn text(&mut self, indent: usize, text: &str) {
        self.hanging(indent, indent + 2, text);
    }

    /// Adds a text whose first and further lines have indents of their own.
    pub fn hanging(&mut self, first: usize, further: usize, text: &str) {
        let (first, further) = (first.min(self.width / 3), further.min(self.width / 3));
        for (at, line) in wrapped(text, self.width - first, self.width - further).into_iter().enumerate() {
            let indent = if at == 0 { first } else { further };
            self.out.extend(std::iter::repeat_n(' ', indent));
            self.out.push_str(&line);
            self.out.push('\n');
        }
    }

    /// Adds one line as it is; what is too long for the page is broken.
    pub fn raw(&mut self, indent: usize, line: &str) {
        if indent + display_width(line) > self.width {
            return self.hanging(indent, indent, line);
        }
        self.out.extend(std::iter::repeat_n(' ', indent));
        self.out.push_str(line);
        self.out.push('\n');
    }

    /// Adds a text under a label: beside it where there is room, else after it.
    pub fn field(&mut self, label: &str, text: &str) {
        if !self.is_wide() {
            return if label.is_empty() {
                self.hanging(2, 4, text)
            } else {
                self.hanging(0, 2, &format!("{label}: {text}"))
            };
        }
        let room = self.width - COLUMN - 2;
        let own_line = display_width(label) >= COLUMN;
        if own_line {
            self.hanging(2, 2, label);
        }
        let label = if own_line { "" } else { label };
        for (at, line) in wrapped(text, room, room).into_iter().enumerate() {
            let label = if at == 0 { label } else { "" };
            let gap = COLUMN.saturating_sub(display_width(label));
            self.out.push_str("  ");
            self.out.push_str(label);
            self.out.extend(std::iter::repeat_n(' ', gap));
            self.out.push_str(&line);
            self.out.push('\n');
        }
    }

    /// Adds several texts under one label.
    pub fn fields<'t>(&mut self, label: &str, texts: impl IntoIterator<Item = &'t str>) {
        for (at, text) in texts.into_iter().enumerate() {
            self.field(if at == 0 { label } else { "" }, text);
        }
    }

    /// Adds a line of one sign across the page.
    pub fn rule(&mut self, sign: char) {
        self.out.extend(std::iter::repeat_n(sign, self.width));
        self.out.push('\n');
    }

    /// Returns the page; no line of it ends in a blank.
    pub fn finish(self) -> String {
        let mut page = String::with_capacity(self.out.len());
        for line in self.out.trim_end().lines() {
            page.push_str(line.trim_end());
            page.push('\n');
        }
        page
    }
}

/// Breaks a text into lines at blanks, the first line of one width, the others of another. A number stays with its
/// unit; a word that is longer than a line is broken where the line ends.
pub fn wrapped(text: &str, first: usize, further: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in pieces(text, further.min(first)) {
        let room = if lines.is_empty() { first } else { further };
        let blank = usize::from(!line.is_empty());
        if display_width(&line) + blank + display_width(&word) <= room {
            if blank == 1 {
                line.push(' ');
            }
            line.push_str(&word);
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        let mut rest = word.as_str();
        while display_width(rest) > further.min(first) {
            let (head, tail) = rest.split_at(fitting(rest, further.min(first)));
            lines.push(head.to_string());
            rest = tail;
        }
        line = rest.to_string();
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// Returns the words of a text, a number and its unit as one where both fit a line.
fn pieces(text: &str, room: usize) -> Vec<String> {
    let mut pieces: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match pieces.last_mut() {
            Some(last)
                if is_unit(word)
                    && ends_in_number(last)
                    && display_width(last) + 1 + display_width(word) <= room =>
            {
                last.push(' ');
                last.push_str(word);
            }
            _ => pieces.push(word.to_string()),
        }
    }
    pieces
}

fn ends_in_number(word: &str) -> bool {
    !word.contains(' ') && word.chars().next_back().is_some_and(|last| last.is_ascii_digit())
}

fn is_unit(word: &str) -> bool {
    let bare = word.trim_end_matches([',', ';', '.', ':', ')']);
    let plain = |symbol: &str| crate::units::plain(symbol).is_some();
    let rate = || bare.split_once('/').is_some_and(|(amount, base)| plain(amount) && plain(base));
    matches!(bare, "ppm" | "am" | "pm" | "a.m" | "p.m") || plain(bare) || rate()
}

/// Returns how many bytes of a text fit a width; at least one letter.
fn fitting(text: &str, room: usize) -> usize {
    let mut end = 0;
    for (at, letter) in text.char_indices() {
        let next = at + letter.len_utf8();
        let fits = text.get(..next).is_some_and(|head| display_width(head) <= room);
        if !fits && end > 0 {
            break;
        }
        end = next;
    }
    end
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_stays_with_its_unit() {
        assert_eq!(wrapped("it was at most 80 % today", 14, 14), ["it was at most", "80 % today"]);
        assert_eq!(wrapped("it was at 80 % today", 12, 12), ["it was at", "80 % today"]);
    }

    #[test]
    fn a_long_word_is_broken_and_nothing_is_lost() {
        assert_eq!(wrapped("abcdefgh ij", 3, 3), ["abc", "def", "gh", "ij"]);
        assert_eq!(wrapped("", 3, 3), [""]);
    }

    #[test]
    fn labels_stand_beside_on_a_wide_page_and_before_on_a_narrow_one() {
        let mut wide = Lines::new(60);
        wide.field("Why", "the mildew grows");
        assert_eq!(wide.finish(), "  Why           the mildew grows\n");
        let mut narrow = Lines::new(40);
        narrow.field("Why", "the mildew grows in cool and damp nights");
        assert_eq!(narrow.finish(), "Why: the mildew grows in cool and damp\n  nights\n");
    }
}
