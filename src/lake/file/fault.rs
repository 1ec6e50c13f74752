//! A fault of a lake file, and the list that collects them.

use std::cell::RefCell;
use std::ops::Range;
use std::path::{Path, PathBuf};

use serde::Serialize;

/// One fault of a lake file: where it is, what was found, what was wanted, how to mend it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Fault {
    /// The lake file.
    pub file: PathBuf,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What stands there.
    pub found: String,
    /// What should stand there.
    pub wanted: String,
    /// How to mend it.
    pub mend: String,
}

/// A value and the bytes of the file that hold it.
#[derive(Debug, Clone)]
pub(super) struct At<T> {
    pub value: T,
    pub span: Range<usize>,
}

impl<T> At<T> {
    pub fn new(value: T, span: Range<usize>) -> Self {
        At { value, span }
    }
}

/// The faults found so far in one text.
pub(super) struct Faults<'t> {
    file: &'t Path,
    text: &'t str,
    line_starts: Vec<usize>,
    list: RefCell<Vec<Fault>>,
}

impl<'t> Faults<'t> {
    pub fn new(file: &'t Path, text: &'t str) -> Self {
        let line_starts = std::iter::once(0)
            .chain(text.match_indices('\n').map(|(i, _)| i + 1))
            .collect();
        Faults {
            file,
            text,
            line_starts,
            list: RefCell::new(Vec::new()),
        }
    }

    /// Notes a fault at byte `offset`.
    pub fn add(
        &self,
        offset: usize,
        found: impl Into<String>,
        wanted: impl Into<String>,
        mend: impl Into<String>,
    ) {
        let (line, column) = self.place(offset);
        let (found, wanted, mend) = (found.into(), wanted.into(), mend.into());
        self.list.borrow_mut().push(Fault {
            file: self.file.to_owned(),
            line,
            column,
            found,
            wanted,
            mend,
        });
    }

    /// Line and column of byte `offset`, both from 1; the end of the text for any offset beyond it.
    fn place(&self, offset: usize) -> (usize, usize) {
        let line = self.line_starts.partition_point(|&start| start <= offset).max(1);
        let start = self.line_starts[line - 1];
        let bytes = &self.text.as_bytes()[start..offset.clamp(start, self.text.len())];
        // In UTF-8 each character has exactly one byte that does not continue another.
        (line, 1 + bytes.iter().filter(|&&b| b & 0xC0 != 0x80).count())
    }

    /// All faults in the order of the file.
    pub fn into_sorted(self) -> Vec<Fault> {
        let mut list = self.list.into_inner();
        list.sort_by_key(|f| (f.line, f.column));
        list.dedup();
        list
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_characters_and_lines_count_from_one() {
        let faults = Faults::new(Path::new("x.toml"), "äb\nç = 1\n");
        assert_eq!(faults.place(0), (1, 1));
        assert_eq!(faults.place(2), (1, 2)); // after the two bytes of "ä"
        assert_eq!(faults.place(4), (2, 1));
        assert_eq!(faults.place(9), (2, 5)); // the 1, after the two bytes of "ç"
        assert_eq!(faults.place(1000), (3, 1));
    }
}
