//! A page of text: titles, columns, and lines that wrap under themselves.

use std::fmt::Write;

/// Width of the page in characters.
const WIDTH: usize = 80;

/// A page under way.
#[derive(Default)]
pub(super) struct Page {
    text: String,
}

impl Page {
    /// The finished text.
    pub fn into_text(self) -> String {
        self.text
    }

    /// A title, after an empty line.
    pub fn title(&mut self, title: &str) {
        if !self.text.is_empty() {
            self.text.push('\n');
        }
        self.text.push_str(title);
        self.text.push('\n');
    }

    /// A title, and "none given" where there is nothing under it.
    pub fn titled(&mut self, title: &str, empty: bool) {
        self.title(title);
        if empty {
            self.line("none given");
        }
    }

    /// A line that wraps under itself.
    pub fn line(&mut self, line: &str) {
        self.row(&[], line);
    }

    /// Columns of fixed width, then text that wraps under itself.
    pub fn row(&mut self, columns: &[(usize, &str)], rest: &str) {
        let mut start = String::from("  ");
        for (width, text) in columns {
            // Writing into a String cannot fail, here and below.
            let _ = write!(start, "{text:<width$} ");
        }
        let indent = 2 + columns.iter().map(|(width, _)| width + 1).sum::<usize>();
        let mut line = start;
        let mut fresh = true;
        for word in rest.split(' ').filter(|word| !word.is_empty()) {
            if !fresh && line.chars().count() + 1 + word.chars().count() > WIDTH {
                self.text.push_str(line.trim_end());
                self.text.push('\n');
                line = " ".repeat(indent);
                fresh = true;
            }
            if !fresh {
                line.push(' ');
            }
            line.push_str(word);
            fresh = false;
        }
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }
}
