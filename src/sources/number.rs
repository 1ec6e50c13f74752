//! Numbers as services send them: numbers, numbers in quotes, words, nothing.

use serde::{Deserialize, Deserializer};

/// Largest magnitude that is believed (project choice). No quantity in any unit of a service comes near it, and
/// below it no conversion leaves the finite numbers.
const LARGEST: f64 = 1e18;

/// A number, or what stands in its place.
#[derive(Debug, Clone, PartialEq)]
pub enum Figure {
    /// A finite number of a believable size.
    Number(f64),
    /// No value: null or blank.
    Nothing,
    /// Text that is no number.
    Word(String),
}

impl Figure {
    /// The figure of a text: blank is nothing, a finite number a number, anything else a word.
    pub fn from_text(text: &str) -> Figure {
        let text = text.trim();
        if text.is_empty() {
            return Figure::Nothing;
        }
        match text.parse::<f64>() {
            // Rust's own `nan` and `inf` are no measurements.
            Ok(number) if number.abs() <= LARGEST => Figure::Number(number),
            _ => Figure::Word(text.to_owned()),
        }
    }

    /// The figure of a number: one too large to be believed stays a word, so that it is refused where it stands.
    pub fn from_number(number: f64) -> Figure {
        if number.abs() <= LARGEST {
            Figure::Number(number)
        } else {
            Figure::Word(format!("{number:e}"))
        }
    }
}

impl<'de> Deserialize<'de> for Figure {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Visitor;
        impl serde::de::Visitor<'_> for Visitor {
            type Value = Figure;

            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("a number, a number in quotes, or null")
            }
            fn visit_f64<E>(self, number: f64) -> Result<Figure, E> {
                Ok(Figure::from_number(number))
            }
            fn visit_i64<E>(self, number: i64) -> Result<Figure, E> {
                Ok(Figure::from_number(number as f64))
            }
            fn visit_u64<E>(self, number: u64) -> Result<Figure, E> {
                Ok(Figure::from_number(number as f64))
            }
            fn visit_str<E>(self, text: &str) -> Result<Figure, E> {
                Ok(Figure::from_text(text))
            }
            fn visit_unit<E>(self) -> Result<Figure, E> {
                Ok(Figure::Nothing)
            }
        }
        deserializer.deserialize_any(Visitor)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(json: &str) -> Figure {
        serde_json::from_str(json).unwrap()
    }

    #[test]
    fn a_number_in_quotes_is_the_same_number() {
        assert_eq!(read("\"20.2\""), Figure::Number(20.2));
        assert_eq!(read("20.2"), Figure::Number(20.2));
        assert_eq!(read("-3"), Figure::Number(-3.0));
    }

    #[test]
    fn null_and_blank_are_nothing() {
        assert_eq!(read("null"), Figure::Nothing);
        assert_eq!(read("\"  \""), Figure::Nothing);
    }

    #[test]
    fn a_number_that_nothing_measures_stays_a_word() {
        assert_eq!(read("1e300"), Figure::Word("1e300".to_owned()));
        assert_eq!(read("-99999999999999999999"), Figure::Word("-1e20".to_owned()));
        assert_eq!(read("1e18"), Figure::Number(1e18));
    }

    #[test]
    fn words_and_non_numbers_stay_words() {
        for word in ["Ice", "***", "NaN", "inf", "1,041", "1e999", "-1e300"] {
            assert_eq!(Figure::from_text(word), Figure::Word(word.to_owned()));
        }
    }
}
