//! What a key of the lake file is: its kind, unit, limits and meaning.

use super::table::KEYS;
use crate::lake::file::block::plain;
use crate::units::{
    DEGC_PER_DEGF, KG_PER_LB, M_PER_FT, M_PER_IN, M_PER_MI, M_S_PER_MPH, M2_PER_ACRE, M3_PER_ACRE_FT,
    M3S_PER_CFS, degc_from_degf,
};

/// What a number with a unit measures, and so which two units it may be given in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dimension {
    /// Elevation, depth, height or width: `_ft`, `_m`.
    Height,
    /// Way over land or water: `_mi`, `_m`.
    Way,
    /// Length of tackle: `_in`, `_m`.
    Lead,
    /// Area: `_acres`, `_m2`.
    Area,
    /// Volume: `_acre_ft`, `_m3`.
    Volume,
    /// Flow: `_cfs`, `_m3s`.
    Flow,
    /// Speed: `_mph`, `_m_s`.
    Speed,
    /// Mass: `_lb`, `_kg`.
    Mass,
    /// Light extinction: `_per_ft`, `_per_m`.
    Extinction,
    /// Temperature: `_degf`, `_degc`.
    Temp,
    /// Difference of temperatures: `_degf`, `_degc`.
    TempStep,
}

impl Dimension {
    /// The unit of the United States: suffix of the key, and SI units in one of it.
    pub fn us(self) -> (&'static str, f64) {
        match self {
            Dimension::Height => ("ft", M_PER_FT),
            Dimension::Way => ("mi", M_PER_MI),
            Dimension::Lead => ("in", M_PER_IN),
            Dimension::Area => ("acres", M2_PER_ACRE),
            Dimension::Volume => ("acre_ft", M3_PER_ACRE_FT),
            Dimension::Flow => ("cfs", M3S_PER_CFS),
            Dimension::Speed => ("mph", M_S_PER_MPH),
            Dimension::Mass => ("lb", KG_PER_LB),
            Dimension::Extinction => ("per_ft", 1.0 / M_PER_FT),
            Dimension::Temp | Dimension::TempStep => ("degf", DEGC_PER_DEGF),
        }
    }

    /// The SI value of 0 in that unit, for those whose zeros differ.
    pub fn us_zero(self) -> f64 {
        match self {
            Dimension::Temp => degc_from_degf(0.0),
            _ => 0.0,
        }
    }

    /// Suffix of the metric twin, in SI.
    pub fn metric(self) -> &'static str {
        match self {
            Dimension::Height | Dimension::Way | Dimension::Lead => "m",
            Dimension::Area => "m2",
            Dimension::Volume => "m3",
            Dimension::Flow => "m3s",
            Dimension::Speed => "m_s",
            Dimension::Mass => "kg",
            Dimension::Extinction => "per_m",
            Dimension::Temp | Dimension::TempStep => "degc",
        }
    }
}

/// Numbers that a key takes, in SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Least value.
    pub low: f64,
    /// Greatest value.
    pub high: f64,
    /// Whether the least value itself is refused.
    pub above_low: bool,
}

impl Limits {
    /// From `low` to `high`, both allowed.
    pub const fn within(low: f64, high: f64) -> Self {
        Limits {
            low,
            high,
            above_low: false,
        }
    }

    /// More than 0, up to `high`.
    pub const fn positive(high: f64) -> Self {
        Limits {
            low: 0.0,
            high,
            above_low: true,
        }
    }

    /// Whether `value` is a number within.
    pub fn allow(&self, value: f64) -> bool {
        value.is_finite()
            && value <= self.high
            && (value > self.low || (!self.above_low && value >= self.low))
    }
}

/// What a key holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// Lower-case letters, digits and hyphens.
    Id,
    /// Text, not empty.
    Text,
    /// A list of texts, which may be empty ones.
    Texts,
    /// One of these words.
    Word(&'static [&'static str]),
    /// A list of these words.
    Words(&'static [&'static str]),
    /// An IANA time zone.
    TimeZone,
    /// A word of `Quantity::word`.
    Quantity,
    /// The id of something described elsewhere in the file, by the name of its block.
    Reference(&'static str),
    /// A list of such ids.
    References(&'static str),
    /// A number without twin.
    Number(Limits),
    /// A number with a unit, in one of two units.
    Measure(Dimension, Limits),
    /// Twelve numbers with a unit, January first.
    Months(Dimension, Limits),
    /// A whole number.
    Whole,
    /// `true` or `false`.
    Flag,
    /// A date without quotes.
    Date,
    /// Latitude and longitude.
    Position,
    /// A list of latitudes and longitudes.
    Line,
    /// The same round a piece of water.
    Outline,
    /// `"series"`, or a table of block `inflows.flow`.
    Flow,
    /// A table with the keys of this block.
    Block(&'static str),
    /// A list of tables with the keys of this block.
    Blocks(&'static str),
}

/// Whether a key must be there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// It must.
    Always,
    /// It may.
    Optional,
    /// It depends on other keys; the meaning says how.
    Depends,
}

/// A key of the lake file.
#[derive(Debug, Clone, Copy)]
pub struct Key {
    /// Block that holds it; empty for the top of the file.
    pub block: &'static str,
    /// Name without the unit.
    pub stem: &'static str,
    /// What it holds.
    pub kind: Kind,
    /// Whether it must be there.
    pub need: Need,
    /// What it means.
    pub meaning: &'static str,
    /// A value, as in the file; for a key with twins, in the unit of the United States.
    pub example: &'static str,
}

impl Key {
    /// The names it may have in the file: one, or the pair of twins, United States first.
    pub fn names(&self) -> Vec<String> {
        match self.kind {
            Kind::Measure(dimension, _) | Kind::Months(dimension, _) => {
                [dimension.us().0, dimension.metric()]
                    .map(|unit| format!("{}_{unit}", self.stem))
                    .to_vec()
            }
            _ => vec![self.stem.to_owned()],
        }
    }

    /// The example for the key under one of its names: for the metric twin of one number, converted.
    pub(in crate::lake::file) fn example_for(&self, name: &str) -> String {
        match (self.kind, self.example.parse::<f64>()) {
            (Kind::Measure(dimension, _), Ok(number)) if !name.ends_with(dimension.us().0) => {
                plain(number * dimension.us().1 + dimension.us_zero())
            }
            _ => self.example.to_owned(),
        }
    }
}

/// All keys, in the order of the documentation.
pub fn keys() -> &'static [Key] {
    KEYS
}

/// The keys of one block.
pub fn keys_of(block: &str) -> impl Iterator<Item = &'static Key> {
    KEYS.iter().filter(move |key| key.block == block)
}

/// The key `stem` of `block`.
pub(in crate::lake::file) fn key(block: &'static str, stem: &str) -> &'static Key {
    keys_of(block)
        .find(|key| key.stem == stem)
        .expect("the reader asks only for keys of the table of keys")
}
