//! A page of text: paragraphs, hanging paragraphs and rows of cells, all wrapped to [`WIDTH`].

use super::WIDTH;
use super::ascii::ascii;
use crate::data::text::harmless;

/// A growing text whose lines never exceed [`WIDTH`] columns (one character is one column).
#[derive(Debug, Clone, Default)]
pub struct Page {
    text: String,
    ascii: bool,
}

impl Page {
    /// An empty page, in ASCII only where the reader's terminal can't show more.
    pub fn new(ascii: bool) -> Self {
        Self {
            text: String::new(),
            ascii,
        }
    }

    /// Is it written in ASCII only?
    pub fn is_ascii(&self) -> bool {
        self.ascii
    }

    /// The finished text, with a line feed at its end.
    pub fn finish(self) -> String {
        self.text
    }

    /// An empty line.
    pub fn gap(&mut self) {
        if !self.text.is_empty() && !self.text.ends_with("\n\n") {
            self.text.push('\n');
        }
    }

    /// A heading with an empty line before it.
    pub fn heading(&mut self, title: &str) {
        self.gap();
        self.paragraph(title);
    }

    /// A line across the page.
    pub fn rule(&mut self) {
        let stroke = if self.ascii { "-" } else { "─" };
        self.text.push_str(&stroke.repeat(WIDTH));
        self.text.push('\n');
    }

    /// A paragraph from the left margin.
    pub fn paragraph(&mut self, text: &str) {
        self.hanging("", 0, text);
    }

    /// A paragraph whose first line begins with `label`, and whose text stands at column `indent`.
    /// A label too long for the indent gets a line of its own.
    pub fn hanging(&mut self, label: &str, indent: usize, text: &str) {
        let label = self.clean(label);
        let (mut label, text) = (label.trim_end(), self.clean(text));
        let mut split = Vec::new();
        if indent > 0 && columns(label) >= indent {
            split = wrap(label, WIDTH);
            label = "";
        }
        for line in &split {
            self.push_line(line);
        }
        for (number, line) in wrap(&text, WIDTH.saturating_sub(indent)).iter().enumerate() {
            let head = if number == 0 { label } else { "" };
            self.push_line(&format!("{head:indent$}{line}"));
        }
    }

    /// A row of cells, each wrapped in its own column of the given width; `right` cells are set
    /// flush right. Two spaces stand between columns.
    pub fn row(&mut self, indent: usize, cells: &[(&str, usize)]) {
        let wrapped: Vec<(Vec<String>, usize)> = cells
            .iter()
            .map(|(text, width)| (wrap(&self.clean(text), *width), *width))
            .collect();
        let height = wrapped
            .iter()
            .map(|(lines, _)| lines.len())
            .max()
            .unwrap_or(0);
        for level in 0..height {
            let mut line = " ".repeat(indent);
            for (lines, width) in &wrapped {
                let cell = lines.get(level).map_or("", String::as_str);
                line.push_str(&format!("{cell:width$}  "));
            }
            self.push_line(&line);
        }
    }

    /// A line as it is, for drawings; cut at the page's width.
    pub fn drawn(&mut self, line: &str) {
        let cleaned: String = self.clean(line).chars().take(WIDTH).collect();
        self.push_line(&cleaned);
    }

    fn push_line(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    fn clean(&self, text: &str) -> String {
        let shown = harmless(text, usize::MAX);
        if self.ascii { ascii(&shown) } else { shown }
    }
}

/// Columns that a text takes.
pub(super) fn columns(text: &str) -> usize {
    text.chars().count()
}

/// The text in lines of at most `width` columns, broken between words; a word that is longer than
/// a line is broken where the line ends. At least one line, which may be empty.
pub(super) fn wrap(text: &str, width: usize) -> Vec<String> {
    let width = width.max(1);
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let mut rest = word;
        if !line.is_empty() && columns(&line) + 1 + columns(rest) > width {
            lines.push(std::mem::take(&mut line));
        }
        while columns(rest) > width {
            let cut = rest
                .char_indices()
                .nth(width)
                .map_or(rest.len(), |(at, _)| at);
            let (head, tail) = rest.split_at(cut);
            lines.push(head.to_owned());
            rest = tail;
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(rest);
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}
