//! What the trips of a week caught, and how the calls of the week did.

use chrono::{Days, NaiveDate};

use super::value::{WeekCatch, WeekTrips};
use crate::lake::SpeciesId;
use crate::reports::forecasts::ForecastSkill;
use crate::reports::{LakeHeader, WhereaboutsSkill, skill_page};
use crate::skill::SkillError;
use crate::trips::{Known, StoredTrip, effort_and_catch};
use crate::whereabouts::IssuedCall;

/// Days of the week up to the clock, its own day included.
const DAYS_BEFORE: u64 = 7;

/// First and last day of the week that ends with the clock of `known`.
fn days(known: &Known<'_>) -> (NaiveDate, NaiveDate) {
    let to = known.clock().civil_day(known.as_of);
    (to.checked_sub_days(Days::new(DAYS_BEFORE)).unwrap_or(to), to)
}

fn of_week(trips: &[StoredTrip], known: &Known<'_>) -> Vec<StoredTrip> {
    let (from, to) = days(known);
    let mut trips = trips.to_vec();
    trips.retain(|(_, trip)| (from..=to).contains(&trip.date));
    trips
}

/// Trips and catch of the week up to the clock of `known`, by each of `species`.
pub fn week_trips(trips: &[StoredTrip], known: &Known<'_>, species: &[SpeciesId]) -> WeekTrips {
    let (from, to) = days(known);
    let trips = of_week(trips, known);
    let effort = effort_and_catch(&trips, known);
    let of = |id: &SpeciesId| {
        let rows = effort.rows.iter().filter(|row| &row.species == id);
        let (mut fish, mut rod_h) = (0_u32, 0.0);
        for row in rows {
            fish = fish.saturating_add(row.catch_count);
            rod_h += row.rod_h;
        }
        WeekCatch {
            species: id.clone(),
            fish,
            rod_h,
            fish_per_rod_h: (rod_h > 0.0).then(|| f64::from(fish) / rod_h),
        }
    };
    let is_blank = |stored: &&StoredTrip| {
        let legs = &stored.1.legs;
        let told = legs.iter().all(|leg| leg.catch_known);
        told && legs
            .iter()
            .flat_map(|leg| &leg.catches)
            .all(|fish| fish.count == 0)
    };
    WeekTrips {
        from,
        to,
        trips: trips.len(),
        blank_trips: trips.iter().filter(is_blank).count(),
        species: species.iter().map(of).collect(),
    }
}

/// How the calls did against the trips of the week; `None` where none of them was called.
///
/// # Errors
/// As [`skill_page`].
pub fn week_record(
    header: LakeHeader,
    known: &Known<'_>,
    calls: (&[IssuedCall], usize),
    trips: &[StoredTrip],
) -> Result<Option<WhereaboutsSkill>, SkillError> {
    let trips = of_week(trips, known);
    // A week is too short to judge forecasts by.
    let forecasts = ForecastSkill::default();
    let found = skill_page(header, known, (calls.0, calls.1, false), &trips, forecasts)?.whereabouts;
    Ok((found.trips > found.trips_without_call).then_some(found))
}
