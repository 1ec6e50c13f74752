//! Lines of a draft: comments, keys, questions.

use crate::faces::Units;
use crate::lake::QUESTION;

/// Longest line of a comment.
const WIDTH: usize = 100;

/// The text so far.
pub(super) struct Page {
    pub text: String,
    pub units: Units,
}

impl Page {
    pub fn new(units: Units) -> Page {
        Page {
            text: String::new(),
            units,
        }
    }

    /// An empty line.
    pub fn gap(&mut self) {
        self.text.push('\n');
    }

    /// A line as it is.
    pub fn line(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    /// A comment, on as many lines as it needs.
    pub fn comment(&mut self, words: &str) {
        self.wrapped("# ", "# ", words);
    }

    /// A key, its value as TOML writes it, and what it means.
    pub fn key(&mut self, name: &str, value: &str, meaning: &str) {
        let line = format!("{name} = {value}");
        if meaning.is_empty() {
            self.line(&line);
        } else {
            self.line(&format!("{line:<38}  # {}", plain(meaning)));
        }
    }

    /// A question, with how to find out, and the key that it leaves open: the one fault that the check of the
    /// file will report there.
    pub fn question(&mut self, name: &str, how: &str) {
        self.wrapped("# QUESTION: ", "#   ", how);
        self.line(&format!("{name} = \"{QUESTION}\""));
    }

    /// A question, with an example of its answer in a line of its own.
    pub fn question_like(&mut self, name: &str, how: &str, example: &str) {
        self.wrapped("# QUESTION: ", "#   ", how);
        self.line(&format!("#   Such as: {name} = {example}"));
        self.line(&format!("{name} = \"{QUESTION}\""));
    }

    /// An entry of a list among comments.
    pub fn item(&mut self, words: &str) {
        self.wrapped("# - ", "#   ", words);
    }

    /// The name of a key with its unit.
    pub fn unit(&self, stem: &str, us: &str, metric: &str) -> String {
        match self.units {
            Units::Us => format!("{stem}_{us}"),
            Units::Metric => format!("{stem}_{metric}"),
        }
    }

    fn wrapped(&mut self, first: &str, next: &str, words: &str) {
        let words = plain(words);
        let mut line = first.to_owned();
        let mut is_empty = true;
        for word in words.split_whitespace() {
            if !is_empty && line.chars().count() + 1 + word.chars().count() > WIDTH {
                self.line(line.trim_end());
                line = next.to_owned();
                is_empty = true;
            }
            if !is_empty {
                line.push(' ');
            }
            line.push_str(word);
            is_empty = false;
        }
        self.line(line.trim_end());
    }
}

/// A text of a service on one line: a line break in it would end a comment.
pub(super) fn plain(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect()
}

/// A text as TOML writes it. One that would read as an open question is none of a service.
pub(super) fn quoted(text: &str) -> String {
    let text = plain(text);
    let text = if text.trim() == QUESTION || text.trim().is_empty() {
        "unnamed".to_owned()
    } else {
        text
    };
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_service_sends_stays_in_its_line() {
        let mut page = Page::new(Units::Us);
        page.comment("a name\nid = \"evil\"");
        page.key("name", &quoted("x\"\n[[ramps]]\\"), "");
        page.key("name", &quoted(" ? "), "");
        assert_eq!(
            page.text,
            "# a name id = \"evil\"\nname = \"x\\\" [[ramps]]\\\\\"\nname = \"unnamed\"\n"
        );
    }
}
