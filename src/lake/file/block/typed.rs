//! The values of a block: typed, with their place, in SI; whatever is wrong with one by itself becomes
//! a fault here.
//!
//! Each method gives `None` when the key is absent or faulty; absent keys that must be there, and
//! faulty ones, have left a fault.

use chrono::NaiveDate;
use toml::Spanned;
use toml::de::DeValue;

use super::table::{Block, Found};
use super::value::{describe, number_of, pair_of, plain, quote};
use crate::lake::file::fault::At;
use crate::lake::file::keys::{Key, Kind, Limits, key};
use crate::lake::file::known::choose;

/// Latitudes and longitudes, degrees, each with its place.
type Points = Vec<At<(f64, f64)>>;

impl<'b, 'i> Block<'b, 'i> {
    /// A text that is not blank.
    pub fn text(&self, stem: &str) -> Option<At<String>> {
        let (key, found) = self.find(stem)?;
        match found.value.get_ref() {
            DeValue::String(text) if !text.trim().is_empty() => {
                Some(At::new(text.to_string(), found.value.span()))
            }
            _ => {
                self.wrong(&found, key, "a text in quotes, not empty");
                None
            }
        }
    }

    /// An id: lower-case letters, digits and hyphens, beginning with a letter or digit.
    pub fn id(&self, stem: &str) -> Option<At<String>> {
        let (key, found) = self.find(stem)?;
        let sound = |text: &str| {
            let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit();
            text.len() <= 64 && text.starts_with(plain) && text.chars().all(|c| plain(c) || c == '-')
        };
        match found.value.get_ref() {
            DeValue::String(text) if sound(text) => Some(At::new(text.to_string(), found.value.span())),
            _ => {
                self.wrong(
                    &found,
                    key,
                    "an id of at most 64 lower-case letters, digits and hyphens",
                );
                None
            }
        }
    }

    /// One of the words of the table of keys, as its index there.
    pub fn word(&self, stem: &str) -> Option<At<&'static str>> {
        let (key, found) = self.find(stem)?;
        let Kind::Word(words) = key.kind else { return None };
        self.one_of(&found.name, found.value, words)
    }

    /// Several of the words of the table of keys, at least one, none twice.
    pub fn words(&self, stem: &str) -> Option<At<Vec<&'static str>>> {
        let (key, found) = self.find(stem)?;
        let Kind::Words(words) = key.kind else { return None };
        let items = self.items(key, &found, 1)?;
        let read: Vec<_> = items
            .iter()
            .map(|item| self.one_of(&found.name, item, words))
            .collect();
        let list: Vec<_> = read
            .into_iter()
            .collect::<Option<Vec<_>>>()?
            .into_iter()
            .map(|at| at.value)
            .collect();
        if (1..list.len()).any(|i| list[..i].contains(&list[i])) {
            self.wrong(&found, key, "each word once");
            return None;
        }
        Some(At::new(list, found.value.span()))
    }

    fn one_of(
        &self,
        name: &str,
        value: &Spanned<DeValue<'i>>,
        words: &'static [&'static str],
    ) -> Option<At<&'static str>> {
        let text = match value.get_ref() {
            DeValue::String(text) => text.to_string(),
            other => describe(other),
        };
        if let Some(word) = words
            .iter()
            .find(|word| **word == text && matches!(value.get_ref(), DeValue::String(_)))
        {
            return Some(At::new(word, value.span()));
        }
        let found = format!("{name} = {}", describe(value.get_ref()));
        self.faults.add(
            value.span().start,
            found,
            format!("one of {}", words.join(", ")),
            choose(&text, words),
        );
        None
    }

    /// The id of something that is described elsewhere in the file.
    pub fn reference(&self, stem: &str, ids: &[&str]) -> Option<At<String>> {
        let at = self.text(stem)?;
        self.resolve(stem, &at, ids).then_some(at)
    }

    /// Several such ids, at least one.
    pub fn references(&self, stem: &str, ids: &[&str]) -> Option<At<Vec<String>>> {
        let (key, found) = self.find(stem)?;
        let items = self.items(key, &found, 1)?;
        let mut list = Vec::new();
        let mut sound = true;
        for item in items {
            match item.get_ref() {
                DeValue::String(text) => {
                    let at = At::new(text.to_string(), item.span());
                    sound &= self.resolve(stem, &at, ids);
                    list.push(at.value);
                }
                _ => {
                    self.wrong(&found, key, "a list of texts");
                    return None;
                }
            }
        }
        sound.then(|| At::new(list, found.value.span()))
    }

    fn resolve(&self, stem: &str, at: &At<String>, ids: &[&str]) -> bool {
        let known = ids.contains(&at.value.as_str());
        if !known {
            let block = match key(self.block, stem).kind {
                Kind::Reference(block) | Kind::References(block) => block,
                _ => self.block,
            };
            let wanted = format!("an id of {block} of this file");
            self.fault(
                &at.span,
                format!("{stem} = {}", quote(&at.value)),
                wanted,
                choose(&at.value, ids),
            );
        }
        known
    }

    /// A number without twin, within its limits.
    pub fn number(&self, stem: &str) -> Option<At<f64>> {
        let (key, found) = self.find(stem)?;
        let Kind::Number(limits) = key.kind else {
            return None;
        };
        self.in_limits(key, &found, found.value, limits)
    }

    /// A number with a unit, in SI, within its limits.
    pub fn measure(&self, stem: &str) -> Option<At<f64>> {
        let (key, found) = self.find(stem)?;
        let Kind::Measure(_, limits) = key.kind else {
            return None;
        };
        self.in_limits(key, &found, found.value, limits)
    }

    /// Twelve numbers with a unit, in SI, January first.
    pub fn months(&self, stem: &str) -> Option<At<[f64; 12]>> {
        let (key, found) = self.find(stem)?;
        let Kind::Months(_, limits) = key.kind else {
            return None;
        };
        let items = self.items(key, &found, 0)?;
        let read: Vec<_> = items
            .iter()
            .map(|item| self.in_limits(key, &found, item, limits))
            .collect();
        let count = read.len();
        let values: Vec<f64> = read
            .into_iter()
            .collect::<Option<Vec<_>>>()?
            .into_iter()
            .map(|at| at.value)
            .collect();
        match <[f64; 12]>::try_from(values) {
            Ok(months) => Some(At::new(months, found.value.span())),
            Err(_) => {
                let mend = "give one for each month, January first";
                self.fault(
                    &found.value.span(),
                    format!("{} with {count} values", found.name),
                    "12 values",
                    mend,
                );
                None
            }
        }
    }

    fn in_limits(
        &self,
        key: &Key,
        found: &Found<'_, '_>,
        value: &Spanned<DeValue<'i>>,
        limits: Limits,
    ) -> Option<At<f64>> {
        let number = number_of(value.get_ref());
        match number.map(|n| n * found.si_per_unit + found.si_at_zero) {
            Some(si) if limits.allow(si) => Some(At::new(si, value.span())),
            _ => {
                let (low, high) = (
                    plain((limits.low - found.si_at_zero) / found.si_per_unit),
                    plain((limits.high - found.si_at_zero) / found.si_per_unit),
                );
                let wanted = if limits.above_low {
                    format!("a number above {low}, at most {high}")
                } else {
                    format!("a number from {low} to {high}")
                };
                let text = format!("{} = {}", found.name, describe(value.get_ref()));
                let mend = match number {
                    Some(n) if n.is_finite() => format!("check the number and its unit: {}", key.meaning),
                    _ => format!("write for instance {}", key.example_for(&found.name)),
                };
                self.fault(&value.span(), text, wanted, mend);
                None
            }
        }
    }

    /// A whole number from 1 on.
    pub fn whole(&self, stem: &str) -> Option<At<u32>> {
        let (key, found) = self.find(stem)?;
        let number = match found.value.get_ref() {
            DeValue::Integer(n) => i64::from_str_radix(n.as_str(), n.radix())
                .ok()
                .and_then(|n| u32::try_from(n).ok()),
            _ => None,
        };
        match number {
            Some(n) if n > 0 => Some(At::new(n, found.value.span())),
            _ => {
                self.wrong(&found, key, "a whole number, 1 or more");
                None
            }
        }
    }

    /// `true` or `false`.
    pub fn flag(&self, stem: &str) -> Option<At<bool>> {
        let (key, found) = self.find(stem)?;
        match found.value.get_ref() {
            DeValue::Boolean(flag) => Some(At::new(*flag, found.value.span())),
            _ => {
                self.wrong(&found, key, "true or false, without quotes");
                None
            }
        }
    }

    /// A date without quotes, time or offset.
    pub fn date(&self, stem: &str) -> Option<At<NaiveDate>> {
        let (key, found) = self.find(stem)?;
        let date = match found.value.get_ref() {
            DeValue::Datetime(stamp) if stamp.time.is_none() && stamp.offset.is_none() => stamp.date,
            _ => None,
        };
        let date = date.and_then(|d| NaiveDate::from_ymd_opt(d.year.into(), d.month.into(), d.day.into()));
        match date {
            Some(date) => Some(At::new(date, found.value.span())),
            None => {
                self.wrong(&found, key, "a date as year-month-day, without quotes");
                None
            }
        }
    }

    /// Texts, which may be empty ones; an absent list is empty.
    pub fn texts(&self, stem: &str) -> Option<Vec<String>> {
        let Some((key, found)) = self.find(stem) else {
            return (!self.has(stem)).then(Vec::new);
        };
        let items = self.items(key, &found, 0)?;
        let texts = items.iter().map(|item| match item.get_ref() {
            DeValue::String(text) => Some(text.to_string()),
            _ => None,
        });
        let texts = texts.collect::<Option<Vec<_>>>();
        if texts.is_none() {
            self.wrong(&found, key, "a list of texts in quotes");
        }
        texts
    }

    /// A latitude and a longitude.
    pub fn position(&self, stem: &str) -> Option<At<(f64, f64)>> {
        let (key, found) = self.find(stem)?;
        match pair_of(found.value.get_ref()) {
            Some(pair) => Some(At::new(pair, found.value.span())),
            None => {
                self.wrong(&found, key, "[latitude, longitude] in degrees north and east");
                None
            }
        }
    }

    /// Two or more latitudes and longitudes.
    pub fn line(&self, stem: &str) -> Option<At<Points>> {
        let (key, found) = self.find(stem)?;
        let points = match found.value.get_ref() {
            DeValue::Array(list) => list
                .iter()
                .map(|item| Some(At::new(pair_of(item.get_ref())?, item.span())))
                .collect::<Option<Vec<_>>>()
                .filter(|points| points.len() >= 2),
            _ => None,
        };
        if points.is_none() {
            self.wrong(
                &found,
                key,
                "two or more [latitude, longitude] in degrees north and east",
            );
        }
        points.map(|points| At::new(points, found.value.span()))
    }

    /// Three or more latitudes and longitudes round a piece of water; a last one that repeats the first is taken off.
    pub fn outline(&self, stem: &str) -> Option<At<Points>> {
        let (key, found) = self.find(stem)?;
        let points = match found.value.get_ref() {
            DeValue::Array(list) => {
                let points = list
                    .iter()
                    .map(|item| Some(At::new(pair_of(item.get_ref())?, item.span())));
                points.collect::<Option<Vec<_>>>()
            }
            _ => None,
        };
        let points = points.map(|mut points| {
            if points.len() > 1 && points.first().map(|p| p.value) == points.last().map(|p| p.value) {
                points.pop();
            }
            points
        });
        let points = points.filter(|points| points.len() >= 3);
        if points.is_none() {
            self.wrong(
                &found,
                key,
                "three or more [latitude, longitude] in degrees north and east, round the water",
            );
        }
        points.map(|points| At::new(points, found.value.span()))
    }

    pub(in crate::lake::file) fn items<'v>(
        &self,
        key: &Key,
        found: &Found<'v, 'i>,
        least: usize,
    ) -> Option<&'v [Spanned<DeValue<'i>>]> {
        match found.value.get_ref() {
            DeValue::Array(list) if list.len() >= least => Some(list),
            _ => {
                self.wrong(found, key, if least > 0 { "a list, not empty" } else { "a list" });
                None
            }
        }
    }
}
