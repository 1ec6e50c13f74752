//! Check rows of `fixtures/published`, by id.

use std::path::Path;

/// One check row.
#[derive(Debug, Clone)]
pub struct Row {
    pub id: String,
    pub expected: String,
    pub tolerance: f64,
    pub relative: bool,
}

/// Words that part numbers of a row.
const NO_NUMBERS: [&str; 1] = ["|"];

impl Row {
    /// The expected numbers, in the order of the row; panics on a word that is neither a number nor one of
    /// [`NO_NUMBERS`], for a number that cannot be read is a check that is not made.
    pub fn numbers(&self) -> Vec<f64> {
        self.expected
            .split_whitespace()
            .filter(|word| !NO_NUMBERS.contains(word))
            .map(|word| {
                word.parse()
                    .unwrap_or_else(|_| panic!("{}: {word:?} is no number", self.id))
            })
            .collect()
    }

    /// Asserts `found` number by number, within the row's tolerance.
    pub fn assert(&self, found: &[f64]) {
        let wanted = self.numbers();
        assert_eq!(
            wanted.len(),
            found.len(),
            "{}: {} numbers wanted, {} found",
            self.id,
            wanted.len(),
            found.len()
        );
        for (i, (w, f)) in wanted.iter().zip(found).enumerate() {
            let allowed = if self.relative {
                self.tolerance * w.abs()
            } else {
                self.tolerance
            };
            assert!(
                (w - f).abs() <= allowed,
                "{} number {i}: wanted {w} +- {allowed}, found {f}",
                self.id
            );
        }
    }
}

#[test]
#[should_panic(expected = "\"06:12:43\" is no number")]
fn a_word_that_is_no_number_is_not_passed_over() {
    let row = Row {
        id: "any".to_owned(),
        expected: "1.5 | 06:12:43".to_owned(),
        tolerance: 0.0,
        relative: false,
    };
    let _ = row.numbers();
}

/// The row named `id`, from any file of `fixtures/published`; panics when there is none.
pub fn row(id: &str) -> Row {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/published");
    for entry in std::fs::read_dir(&folder).expect("fixtures/published is in the repository") {
        let path = entry.expect("readable folder").path();
        if path.extension().is_none_or(|e| e != "csv") {
            continue;
        }
        let mut reader = csv::Reader::from_path(&path).expect("readable file");
        for record in reader.records() {
            let record = record.unwrap_or_else(|e| panic!("{}: {e}", path.display()));
            if &record[0] == id {
                let text = record[5].trim();
                let number = text.split_whitespace().next().unwrap_or("");
                let tolerance: f64 = number
                    .parse()
                    .unwrap_or_else(|_| panic!("{id}: tolerance {text:?}"));
                let percent = text.ends_with('%');
                return Row {
                    id: id.to_owned(),
                    expected: record[3].to_owned(),
                    tolerance: if percent { tolerance / 100.0 } else { tolerance },
                    relative: percent || text.ends_with("rel"),
                };
            }
        }
    }
    panic!("no check row {id} in {}", folder.display());
}
