//! The thresholds of all tests, from `config/quality.toml`.

use std::collections::BTreeMap;
use std::path::Path;

use serde::Deserialize;
use serde::de::{self, Deserializer, MapAccess, Visitor};

use super::QualityError;
use crate::lake::Cadence;
use crate::quantity::Quantity;

const BUILT_IN: &str = include_str!("../../config/quality.toml");
/// Table for daily inflow that was computed from the lake's balance.
const INFERRED_INFLOW: &str = "inferred_inflow_m3s";

/// Thresholds by quantity and cadence.
#[derive(Debug, Clone, PartialEq)]
pub struct Thresholds {
    /// What counts as the record.
    pub history: History,
    /// How far neighbours may be apart.
    pub neighbours: Neighbours,
    tables: BTreeMap<String, ByCadence>,
}

/// What counts as the record of a series.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct History {
    /// Days before the newest value that may still be revised and do not count.
    pub settled_days: f64,
    /// Years needed before extremes and seasons are believed.
    pub record_years: f64,
}

/// Distance up to which values are neighbours.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Neighbours {
    /// For values within the day.
    pub continuous_h: f64,
    /// For daily values.
    pub daily_h: f64,
}

#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct ByCadence {
    daily: Option<SeriesThresholds>,
    continuous: Option<SeriesThresholds>,
}

/// Scale on which spikes are measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum SpikeScale {
    /// The value itself.
    #[default]
    Linear,
    /// Its decimal logarithm; values that are not positive are left out.
    Log10,
}

/// Thresholds of one quantity and cadence; a test without thresholds is not run. Numbers are in the
/// SI unit of the quantity unless the name ends in another unit.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct SeriesThresholds {
    /// Below: fail.
    pub fail_min: Option<f64>,
    /// Above: fail.
    pub fail_max: Option<f64>,
    /// Below: suspect.
    pub suspect_min: Option<f64>,
    /// Above: suspect.
    pub suspect_max: Option<f64>,
    /// Below the lake's minimum pool by more: fail.
    pub fail_below_minimum_pool: Option<f64>,
    /// Above the lake's full pool by more: fail.
    pub fail_above_full_pool: Option<f64>,
    /// Depth over the full lake in a day, beyond in either sense: fail.
    pub fail_beyond_depth_mm_per_day: Option<f64>,
    /// Depth over the full lake in a day, beyond in either sense: suspect.
    pub suspect_beyond_depth_mm_per_day: Option<f64>,
    /// Beyond the record's extremes by more: suspect.
    pub suspect_beyond_record: Option<f64>,
    /// Above so many times the record's peak: fail.
    pub fail_above_peak_times: Option<f64>,
    /// Above so many times the record's peak: suspect.
    pub suspect_above_peak_times: Option<f64>,
    /// Below so many times the record's least value: suspect.
    pub suspect_below_least_times: Option<f64>,
    /// Beyond the quartiles by so many times their distance: fail.
    pub fail_beyond_quartiles: Option<f64>,
    /// Beyond the quartiles by so many times their distance: suspect.
    pub suspect_beyond_quartiles: Option<f64>,
    /// Beyond the season's span by more: suspect.
    pub suspect_beyond_season: Option<f64>,
    /// Values that are exactly this are no part of the record.
    pub record_leaves_out: Option<f64>,
    /// Whether the daily values of the series stand in for a record that is too short.
    pub history_from_daily: bool,
    /// Scale of the spike test.
    pub spike_scale: SpikeScale,
    /// Spike higher: suspect.
    pub spike_suspect: Option<f64>,
    /// Spike higher: fail.
    pub spike_fail: Option<f64>,
    /// Longest false plateau that fails as a spike, values.
    pub spike_plateau_values: Option<usize>,
    /// Change in an hour: suspect.
    pub rate_suspect_per_h: Option<f64>,
    /// Change in a day: suspect.
    pub rate_suspect_per_day: Option<f64>,
    /// The change in a day is allowed so many standard deviations of the record's changes at least.
    pub rate_suspect_sd: Option<f64>,
    /// Factor upward within an hour: suspect.
    pub rate_suspect_factor_up_per_h: Option<f64>,
    /// Factor downward within an hour: suspect.
    pub rate_suspect_factor_down_per_h: Option<f64>,
    /// Hours without change: suspect.
    pub flat_suspect_h: Option<f64>,
    /// Hours without change: fail.
    pub flat_fail_h: Option<f64>,
    /// What counts as no change.
    pub flat_within: Option<f64>,
    /// Flat stretches count only at this value.
    pub flat_only_at: Option<f64>,
    /// Flat stretches count only above the median.
    pub flat_only_above_median: bool,
    /// Above its partner by more: suspect.
    pub suspect_above_partner: Option<f64>,
    /// Below its partner by more: suspect.
    pub suspect_below_partner: Option<f64>,
    /// Off what the lake's table gives by more than this share: suspect.
    pub suspect_off_table_frac: Option<f64>,
}

impl Thresholds {
    /// The thresholds of `config/quality.toml` as compiled in.
    pub fn built_in() -> Thresholds {
        Thresholds::from_toml("config/quality.toml", BUILT_IN)
            .expect("a test reads the file that is compiled in")
    }

    /// Thresholds from a file of one's own, which stands in for `config/quality.toml` as a whole.
    ///
    /// # Errors
    /// [`QualityError`].
    pub fn read(path: &Path) -> Result<Thresholds, QualityError> {
        let text = std::fs::read_to_string(path).map_err(|source| QualityError::Read {
            path: path.to_owned(),
            source,
        })?;
        Thresholds::from_toml(&path.display().to_string(), &text)
    }

    /// Thresholds from the text of a file; `name` is used in messages.
    ///
    /// # Errors
    /// [`QualityError::Syntax`], [`QualityError::Unsound`].
    pub fn from_toml(name: &str, text: &str) -> Result<Thresholds, QualityError> {
        let thresholds: Thresholds = toml::from_str(text).map_err(|error| {
            let at = error.span().map_or(0, |span| span.start.min(text.len()));
            let before = text.get(..at).unwrap_or("");
            let line_start = before.rfind('\n').map_or(0, |i| i + 1);
            QualityError::Syntax {
                name: name.to_owned(),
                line: before.matches('\n').count() + 1,
                column: before[line_start..].chars().count() + 1,
                message: error.message().replace('\n', ", "),
            }
        })?;
        thresholds.check(name)?;
        Ok(thresholds)
    }

    /// Thresholds of a quantity and cadence; `None` where none are given. Forecasts have none.
    pub fn of(&self, quantity: Quantity, cadence: Cadence) -> Option<&SeriesThresholds> {
        self.table(quantity.column(), cadence)
    }

    /// Thresholds of a daily inflow that was computed from the lake's balance.
    pub fn inferred_inflow(&self) -> Option<&SeriesThresholds> {
        self.table(INFERRED_INFLOW, Cadence::Daily)
    }

    fn table(&self, name: &str, cadence: Cadence) -> Option<&SeriesThresholds> {
        let by_cadence = self.tables.get(name)?;
        match cadence {
            Cadence::Daily => by_cadence.daily.as_ref(),
            Cadence::Continuous => by_cadence.continuous.as_ref(),
            Cadence::Forecast => None,
        }
    }

    fn check(&self, name: &str) -> Result<(), QualityError> {
        let unsound = |table: &str, key, found: f64, wanted| QualityError::Unsound {
            name: name.to_owned(),
            table: table.to_owned(),
            key,
            found: found.to_string(),
            wanted,
        };
        for (key, found) in [
            ("settled_days", self.history.settled_days),
            ("record_years", self.history.record_years),
        ] {
            if !(found >= 0.0 && found.is_finite()) {
                return Err(unsound("history", key, found, "a number from 0"));
            }
        }
        for (key, found) in [
            ("continuous_h", self.neighbours.continuous_h),
            ("daily_h", self.neighbours.daily_h),
        ] {
            if !(found > 0.0 && found.is_finite()) {
                return Err(unsound("neighbours", key, found, "a number above 0"));
            }
        }
        for (quantity, by_cadence) in &self.tables {
            for (word, table) in [
                ("daily", &by_cadence.daily),
                ("continuous", &by_cadence.continuous),
            ] {
                let fault = table.as_ref().and_then(SeriesThresholds::fault);
                if let Some((key, found, wanted)) = fault {
                    return Err(unsound(&format!("{quantity}.{word}"), key, found, wanted));
                }
            }
        }
        Ok(())
    }
}

impl SeriesThresholds {
    /// The first value that no test can use: key, value, what was wanted.
    fn fault(&self) -> Option<(&'static str, f64, &'static str)> {
        let pair = |key, low: Option<f64>, high: Option<f64>, wanted| {
            let found = low
                .zip(high)
                .filter(|(low, high)| low.partial_cmp(high).is_none_or(|o| o.is_gt()));
            found.map(|(low, _)| (key, low, wanted))
        };
        let above = |key, value: Option<f64>, least: f64, wanted| {
            value
                .filter(|v| !(*v > least && v.is_finite()))
                .map(|v| (key, v, wanted))
        };
        let both = |key, a: Option<f64>, b: Option<f64>, wanted| {
            (a.is_some() != b.is_some()).then(|| (key, a.or(b).unwrap_or_default(), wanted))
        };
        pair("fail_min", self.fail_min, self.fail_max, "at most fail_max")
            .or_else(|| {
                pair(
                    "suspect_min",
                    self.suspect_min,
                    self.suspect_max,
                    "at most suspect_max",
                )
            })
            .or_else(|| {
                pair(
                    "spike_suspect",
                    self.spike_suspect,
                    self.spike_fail,
                    "at most spike_fail",
                )
            })
            .or_else(|| {
                both(
                    "spike_suspect",
                    self.spike_suspect,
                    self.spike_fail,
                    "spike_fail beside it",
                )
            })
            .or_else(|| above("spike_suspect", self.spike_suspect, 0.0, "a number above 0"))
            .or_else(|| {
                let longest = self.spike_plateau_values.map(|longest| longest as f64);
                let beside = longest.filter(|_| self.spike_fail.is_none());
                above("spike_plateau_values", longest, 1.0, "two or more")
                    .or(beside.map(|found| ("spike_plateau_values", found, "spike_fail beside it")))
            })
            .or_else(|| {
                pair(
                    "flat_suspect_h",
                    self.flat_suspect_h,
                    self.flat_fail_h,
                    "at most flat_fail_h",
                )
            })
            .or_else(|| {
                both(
                    "flat_suspect_h",
                    self.flat_suspect_h,
                    self.flat_fail_h,
                    "flat_fail_h beside it",
                )
            })
            .or_else(|| {
                both(
                    "flat_suspect_h",
                    self.flat_suspect_h,
                    self.flat_within,
                    "flat_within beside it",
                )
            })
            .or_else(|| above("flat_suspect_h", self.flat_suspect_h, 0.0, "a number above 0"))
            .or_else(|| {
                above(
                    "flat_within",
                    self.flat_within.map(|w| w + 1.0),
                    0.99,
                    "a number from 0",
                )
            })
            .or_else(|| {
                above(
                    "rate_suspect_per_h",
                    self.rate_suspect_per_h,
                    0.0,
                    "a number above 0",
                )
            })
            .or_else(|| {
                above(
                    "rate_suspect_per_day",
                    self.rate_suspect_per_day,
                    0.0,
                    "a number above 0",
                )
            })
            .or_else(|| {
                let (up, down) = (
                    self.rate_suspect_factor_up_per_h,
                    self.rate_suspect_factor_down_per_h,
                );
                above("rate_suspect_factor_up_per_h", up, 1.0, "a factor above 1")
                    .or_else(|| above("rate_suspect_factor_down_per_h", down, 1.0, "a factor above 1"))
                    .or_else(|| {
                        both(
                            "rate_suspect_factor_up_per_h",
                            up,
                            down,
                            "the other factor beside it",
                        )
                    })
            })
    }
}

impl<'de> Deserialize<'de> for Thresholds {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_map(TablesVisitor)
    }
}

struct TablesVisitor;

impl<'de> Visitor<'de> for TablesVisitor {
    type Value = Thresholds;

    fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("tables of thresholds, [<quantity with its unit>.<cadence>]")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Thresholds, A::Error> {
        let (mut history, mut neighbours, mut tables) = (None, None, BTreeMap::new());
        while let Some(name) = map.next_key::<String>()? {
            match name.as_str() {
                "history" => history = Some(map.next_value()?),
                "neighbours" => neighbours = Some(map.next_value()?),
                _ if name == INFERRED_INFLOW || Quantity::ALL.iter().any(|q| q.column() == name) => {
                    tables.insert(name, map.next_value()?);
                }
                _ => {
                    let known = Quantity::ALL.map(Quantity::column).join(", ");
                    let message = format!(
                        "unknown table [{name}], wanted history, neighbours, {INFERRED_INFLOW} or one of: {known}"
                    );
                    return Err(de::Error::custom(message));
                }
            }
        }
        Ok(Thresholds {
            history: history.ok_or_else(|| de::Error::missing_field("history"))?,
            neighbours: neighbours.ok_or_else(|| de::Error::missing_field("neighbours"))?,
            tables,
        })
    }
}

#[cfg(test)]
#[path = "thresholds_tests.rs"]
mod tests;
