//! The state of an ensemble at the end of a day, and its bytes.

use chrono::{Datelike as _, NaiveDate};

use super::bytes::{Reader, Writer};
use super::error::StateError;
use super::inputs::InputHash;
use crate::column::layered::{BedHeat, Column, FACTORS, Memory, ModelFactors, Water, WindMixing};
use crate::column::network::{Closed, Held, Place};
use crate::column::reservoir::Ensemble;

/// Form of the file; raised when it changes.
pub const FORMAT: u32 = 3;
/// Raised whenever the columns come out otherwise from the same inputs, so that states of before are not taken up.
const WATER_REVISION: u32 = 5;

/// The program as far as states of the water rest on it.
pub fn code_version() -> String {
    format!("{}/{WATER_REVISION}", env!("CARGO_PKG_VERSION"))
}

/// What a state rests on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Basis {
    /// Everything that drove the run up to the end of the day.
    pub inputs: InputHash,
    /// The lake file.
    pub lake_file: InputHash,
    /// The program ([`code_version`]).
    pub code: String,
}

/// One column of the lake with all its members.
#[derive(Debug, Clone, PartialEq)]
pub struct SavedPlace<const L: usize> {
    /// Zone, and which of its columns where it has several.
    pub name: String,
    /// What the layers hold, level and ice with them; shape `[block]`.
    pub columns: Vec<Column<L>>,
    /// Moving surface layers and beds; shape `[block]`.
    pub memory: Vec<Memory<L>>,
    /// In which lanes the column is open; shape `[block]`.
    pub open: Vec<[bool; L]>,
    /// The water of those in which it is closed; shape `[block]`.
    pub held: Vec<[Held; L]>,
}

/// The analysed ensemble at the end of a day.
#[derive(Debug, Clone, PartialEq)]
pub struct AnalysedState<const L: usize> {
    /// Day, by the clock of the forcing.
    pub day: NaiveDate,
    /// What it rests on.
    pub basis: Basis,
    /// Factors of the members, shape `[block][lane]`.
    pub factors: Vec<[ModelFactors; L]>,
    /// The columns of the lake.
    pub places: Vec<SavedPlace<L>>,
}

impl<const L: usize> AnalysedState<L> {
    /// The state of a lake.
    pub fn of(ensemble: &Ensemble<L>, day: NaiveDate, basis: Basis) -> Self {
        let places = ensemble.lakes.first().map_or(&[][..], |lake| {
            let layout = lake.network().layout();
            &layout.places
        });
        let each = |i: usize| ensemble.lakes.iter().map(move |lake| (lake, i));
        let place = |(i, place): (usize, &Place)| SavedPlace {
            name: place.zone.to_string(),
            columns: each(i)
                .map(|(lake, i)| lake.network().columns()[i].clone())
                .collect(),
            memory: each(i).map(|(lake, i)| lake.memory(i).clone()).collect(),
            open: each(i).map(|(lake, i)| lake.network().closed().open(i)).collect(),
            held: each(i)
                .map(|(lake, i)| std::array::from_fn(|lane| lake.network().closed().held(i, lane)))
                .collect(),
        };
        AnalysedState {
            day,
            basis,
            factors: ensemble.factors(),
            places: places.iter().enumerate().map(place).collect(),
        }
    }

    /// Puts a lake into this state; what had been booked is forgotten.
    ///
    /// # Errors
    /// [`StateError::Content`] where the lake has other columns, members or layers; it is not to be used then.
    pub fn take_up(self, ensemble: &mut Ensemble<L>) -> Result<(), StateError> {
        let held = (self.places.len(), self.factors.len());
        let columns = ensemble.lakes.first().map_or(0, |l| l.network().columns().len());
        let wanted = (columns, ensemble.lakes.len());
        if held != wanted {
            return Err(misfit(held, wanted));
        }
        for (block, lake) in ensemble.lakes.iter_mut().enumerate() {
            let places = self.places.iter();
            let (columns, memory): (Vec<_>, Vec<_>) = places
                .map(|p| (p.columns[block].clone(), p.memory[block].clone()))
                .unzip();
            let places = self.places.iter();
            let (open, water) = places.map(|p| (p.open[block], p.held[block])).unzip();
            let closed = Closed::of(open, water)
                .ok_or_else(|| content("a main body that is closed", "one that is open"))?;
            if !lake.take_up((columns, closed), memory) {
                return Err(content(
                    "columns of other layers",
                    "the layers that the lake file makes",
                ));
            }
            lake.set_factors(self.factors[block]);
        }
        Ok(())
    }

    /// The bytes of the state, with a seal (SHA-256) at their end: every number to the bit.
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut out = Writer::new(FORMAT);
        out.int(self.day.num_days_from_ce().cast_unsigned());
        out.hash(&self.basis.inputs);
        out.hash(&self.basis.lake_file);
        out.text(&self.basis.code);
        out.count(L);
        out.count(self.factors.len());
        for factors in self.factors.iter().flatten() {
            out.floats(&factors.list());
        }
        out.count(self.places.len());
        for place in &self.places {
            out.text(&place.name);
            out.count(place.columns.first().map_or(0, Column::layers));
            for (block, (column, memory)) in place.columns.iter().zip(&place.memory).enumerate() {
                for rows in layered(column, &memory.bed) {
                    rows.iter().for_each(|row| out.floats(row));
                }
                column.top.iter().for_each(|top| out.count(*top));
                for lanes in by_lane(column, &memory.wind) {
                    out.floats(lanes);
                }
                for (open, held) in place.open[block].iter().zip(&place.held[block]) {
                    out.count(usize::from(*open));
                    let water = held.water;
                    out.floats(&[
                        held.volume_m3,
                        water.temp_degc,
                        water.oxygen_mg_l,
                        water.river_frac,
                    ]);
                }
            }
        }
        out.sealed()
    }

    /// The state of its bytes.
    ///
    /// # Errors
    /// [`StateError::Foreign`], [`StateError::Form`], [`StateError::Damaged`]; [`StateError::Content`] for another number of lanes
    /// than `L`, and for bytes that are rightly sealed and make no state.
    pub fn from_bytes(bytes: &[u8]) -> Result<Self, StateError> {
        let mut from = Reader::unsealed(bytes, FORMAT)?;
        let day = NaiveDate::from_num_days_from_ce_opt(from.int()?.cast_signed());
        let day = day.ok_or_else(|| content("a day far out of the calendar", "a day"))?;
        let basis = Basis {
            inputs: from.hash()?,
            lake_file: from.hash()?,
            code: from.text()?,
        };
        let lanes = from.count()?;
        if lanes != L {
            return Err(content(&format!("{lanes} lanes"), &format!("{L}")));
        }
        let blocks = from.count()?;
        let mut factors = Vec::new();
        for _ in 0..blocks {
            let mut block = [ModelFactors::default(); L];
            for factors in &mut block {
                *factors = factors_from(from.floats()?)?;
            }
            factors.push(block);
        }
        let mut places = Vec::new();
        for _ in 0..from.count()? {
            places.push(saved_place(&mut from, blocks)?);
        }
        from.end()?;
        Ok(AnalysedState {
            day,
            basis,
            factors,
            places,
        })
    }
}

fn saved_place<const L: usize>(from: &mut Reader<'_>, blocks: usize) -> Result<SavedPlace<L>, StateError> {
    let (name, layers) = (from.text()?, from.count()?);
    let mut place = SavedPlace {
        name,
        columns: Vec::new(),
        memory: Vec::new(),
        open: Vec::new(),
        held: Vec::new(),
    };
    for _ in 0..blocks {
        let mut rows = || {
            (0..layers)
                .map(|_| from.floats::<L>())
                .collect::<Result<Vec<_>, _>>()
        };
        let (volume_m3, temp_degc, oxygen_mg_l, river_frac) = (rows()?, rows()?, rows()?, rows()?);
        let bed = BedHeat {
            upper_degc: rows()?,
            lower_degc: rows()?,
        };
        let mut top = [0; L];
        for top in &mut top {
            *top = from.count()?;
            if *top >= layers {
                return Err(content(
                    &format!("a surface in layer {top}"),
                    &format!("one of {layers} layers"),
                ));
            }
        }
        place.columns.push(Column {
            volume_m3,
            temp_degc,
            oxygen_mg_l,
            river_frac,
            top,
            surface_elevation_m: from.floats()?,
            surface_area_m2: from.floats()?,
            ice_m3: from.floats()?,
            snow_m3: from.floats()?,
        });
        let wind = WindMixing {
            speed_m_s: from.floats()?,
            moving_m: from.floats()?,
        };
        place.memory.push(Memory { wind, bed });
        let mut open = [true; L];
        let mut held = [NOTHING_HELD; L];
        for (open, held) in open.iter_mut().zip(&mut held) {
            *open = match from.count()? {
                0 => false,
                1 => true,
                other => return Err(content(&format!("{other} for closed or open"), "0 or 1")),
            };
            let [volume_m3, temp_degc, oxygen_mg_l, river_frac] = from.floats()?;
            *held = Held {
                volume_m3,
                water: Water {
                    temp_degc,
                    oxygen_mg_l,
                    river_frac,
                },
            };
        }
        place.open.push(open);
        place.held.push(held);
    }
    Ok(place)
}

/// Held water begins with this when it is read.
const NOTHING_HELD: Held = Held {
    volume_m3: 0.0,
    water: Water {
        temp_degc: 0.0,
        oxygen_mg_l: 0.0,
        river_frac: 0.0,
    },
};

fn layered<'a, const L: usize>(column: &'a Column<L>, bed: &'a BedHeat<L>) -> [&'a [[f64; L]]; 6] {
    [
        &column.volume_m3,
        &column.temp_degc,
        &column.oxygen_mg_l,
        &column.river_frac,
        &bed.upper_degc,
        &bed.lower_degc,
    ]
}

fn by_lane<'a, const L: usize>(column: &'a Column<L>, wind: &'a WindMixing<L>) -> [&'a [f64; L]; 6] {
    [
        &column.surface_elevation_m,
        &column.surface_area_m2,
        &column.ice_m3,
        &column.snow_m3,
        &wind.speed_m_s,
        &wind.moving_m,
    ]
}

fn factors_from(list: [f64; FACTORS.len()]) -> Result<ModelFactors, StateError> {
    if list.iter().any(|factor| *factor <= 0.0) {
        return Err(content("a factor not above 0", "factors above 0"));
    }
    Ok(ModelFactors::from_list(list))
}

fn misfit(held: (usize, usize), wanted: (usize, usize)) -> StateError {
    let words =
        |(places, blocks): (usize, usize)| format!("{places} columns with {blocks} blocks of members");
    content(&words(held), &words(wanted))
}

fn content(found: &str, wanted: &str) -> StateError {
    StateError::Content {
        found: found.to_owned(),
        wanted: wanted.to_owned(),
    }
}
