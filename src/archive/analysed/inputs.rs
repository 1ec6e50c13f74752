//! What a run rests on, day by day, as a chain of hashes: the hash of a day holds all days before it.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use sha2::{Digest, Sha256};

use crate::column::assimilate::{WaterField, WaterObservation};
use crate::column::forcing::{Forcing, RiverFlow, Weather};

/// SHA-256 of what something rests on.
pub type InputHash = [u8; 32];

/// SHA-256 of some bytes, such as those of the lake file.
pub fn hash_of(bytes: &[u8]) -> InputHash {
    Sha256::digest(bytes).into()
}

/// The hash of every day of a run: of the day before, of all that drove the steps that begin on the day, and of the observations
/// taken up in them, whatever their order. `base` stands for what came before the first step: how the run was begun,
/// the seed of the members, the options of the analysis.
pub fn inputs_by_day(
    base: InputHash,
    forcing: &Forcing,
    observations: &[WaterObservation],
) -> BTreeMap<NaiveDate, InputHash> {
    let mut by_step: BTreeMap<usize, Vec<InputHash>> = BTreeMap::new();
    for observation in observations {
        if let Some(step) = step_of(forcing, observation.time) {
            by_step
                .entry(step)
                .or_default()
                .push(hash_of_observation(observation));
        }
    }
    let mut before = Sha256::new();
    before.update(base);
    before.update(forcing.start.timestamp_millis().to_le_bytes());
    before.update(forcing.step_s.to_le_bytes());
    let mut before: InputHash = before.finalize().into();
    let mut chain = BTreeMap::new();
    let mut day = Sha256::new();
    for (step, weather) in forcing.weather.iter().enumerate() {
        add_step(&mut day, forcing, (step, weather));
        let mut taken_up = by_step.remove(&step).unwrap_or_default();
        taken_up.sort_unstable();
        day.update((taken_up.len() as u64).to_le_bytes());
        taken_up.iter().for_each(|hash| day.update(hash));
        let date = forcing.step_start(step).date_naive();
        if forcing.step_start(step + 1).date_naive() != date {
            let mut whole = Sha256::new();
            whole.update(before);
            whole.update(std::mem::replace(&mut day, Sha256::new()).finalize());
            before = whole.finalize().into();
            chain.insert(date, before);
        }
    }
    chain
}

/// The step in which an instant lies; `None` before the first.
fn step_of(forcing: &Forcing, time: DateTime<Utc>) -> Option<usize> {
    let since_s = (time - forcing.start).num_milliseconds() as f64 / 1000.0;
    (since_s >= 0.0).then(|| (since_s / forcing.step_s) as usize)
}

fn hash_of_observation(observation: &WaterObservation) -> InputHash {
    let mut hash = Sha256::new();
    hash.update(observation.time.timestamp_millis().to_le_bytes());
    hash.update((observation.place as u64).to_le_bytes());
    hash.update([match observation.field {
        WaterField::Temp => 0,
        WaterField::Oxygen => 1,
        WaterField::River => 2,
    }]);
    for number in [observation.depth_m, observation.value, observation.error] {
        hash.update(number.to_le_bytes());
    }
    hash.finalize().into()
}

fn add_step(day: &mut Sha256, forcing: &Forcing, (step, weather): (usize, &Weather)) {
    let mut add = |number: f64| day.update(number.to_le_bytes());
    let Weather {
        air_temp_degc,
        vapour_pressure_pa,
        pressure_pa,
        wind_speed_m_s,
        wind_from_deg,
        sunlight_w_m2,
        sun_height_frac,
        sky_longwave_w_m2,
        precipitation_m_s,
    } = *weather;
    let plain = [
        air_temp_degc,
        vapour_pressure_pa,
        pressure_pa,
        wind_speed_m_s,
        sunlight_w_m2,
        sun_height_frac,
        sky_longwave_w_m2,
        wind_from_deg.unwrap_or(f64::NAN),
        // Not known is told from every number by one that no weather has.
        precipitation_m_s.unwrap_or(f64::NAN),
    ];
    plain.into_iter().for_each(&mut add);
    for river in &forcing.rivers {
        let known = river
            .get(step)
            .map(|r: &RiverFlow| [r.discharge_m3s, r.temp_degc, r.oxygen_mg_l.unwrap_or(f64::NAN)]);
        known.into_iter().flatten().for_each(&mut add);
    }
    for release in &forcing.release_m3s {
        release.get(step).copied().into_iter().for_each(&mut add);
    }
    forcing.level_m.get(step).copied().into_iter().for_each(&mut add);
    let counts = [
        forcing.rivers.len(),
        forcing.release_m3s.len(),
        forcing.level_m.len().min(1),
    ];
    counts.iter().for_each(|n| day.update((*n as u64).to_le_bytes()));
}
