//! What the mornings of trips offered: from the calls made then, from what an earlier fit found, else from the store.

use std::collections::{BTreeMap, BTreeSet};
use std::io::IsTerminal as _;

use chrono::{DateTime, Duration, NaiveDate, NaiveTime, Utc};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

use crate::analysis::{PastMornings, features_at, forage_at, inputs_by_day};
use crate::archive::Issued;
use crate::archive::analysed::{AnalysedStates, InputHash, code_version, in_hexadecimal};
use crate::cli::session::Session;
use crate::cli::water::{readings_with, worth_telling};
use crate::cli::{calls, output};
use crate::error::Error;
use crate::lake::SpeciesId;
use crate::reports::{Mornings, call_for};
use crate::series::SeriesSet;
use crate::sources::csv::WaterReading;
use crate::species::Species;
use crate::trips::{Known, StoredTrip};
use crate::whereabouts::IssuedCall;
use crate::whereabouts::learn::Features;

/// Folders inside a lake's store: what earlier fits found of past mornings, and the states of the water on the way to them.
const PAST: &str = "past-mornings";
const PAST_STATES: &str = "past-water-states";
/// Name and version of a past morning's form.
const FORM: &str = "plungeline-past-morning-1";
/// Days before the first trip from which on values of the store count for what a morning offered: more than a run of the water, a trend or
/// a season looks back.
const HASHED_DAYS: i64 = 396;
/// Mornings from which on it is said that looking them up takes a while.
const SAID_FROM: usize = 5;

/// What a past morning offered, as it is kept.
#[derive(Debug, Serialize, Deserialize)]
struct PastMorning {
    form: String,
    /// Hash of what it was made by.
    key: String,
    day: NaiveDate,
    offered: Features,
}

/// What the mornings of `trips` offered, by the number of the trip; `set` is what the store holds.
///
/// A call serves where it was made by this program from this lake file, on data enough to trust it; what it lacks, or does not know
/// of a species, is looked up.
///
/// # Errors
/// The calls cannot be listed. What an earlier fit kept and cannot be read is looked up again.
pub fn of_trips(
    session: &Session,
    (trips, lake_file): (&[StoredTrip], InputHash),
    (species, set): (&[Species], &SeriesSet),
    afresh: bool,
) -> Result<(BTreeMap<u32, Features>, Mornings), Error> {
    let known = Known {
        lake: &session.lake,
        species: &[],
        as_of: session.as_of,
    };
    let (own, _) = readings_with(&session.lake, &session.lake_file, Ok(trips), session.as_of);
    let by = By::new(session, (trips, lake_file), species, &own, set);
    let mut found: BTreeMap<u32, Features> = BTreeMap::new();
    let mut counts = Mornings::default();
    if !afresh {
        let (calls, _) = calls::so_far(session)?;
        let wanted_file = in_hexadecimal(&lake_file);
        let serves = |call: &IssuedCall| {
            call.enough && call.code == code_version() && call.lake_file_sha256 == wanted_file
        };
        let serving: Vec<IssuedCall> = calls.into_iter().filter(serves).collect();
        for (number, trip) in trips {
            let Some(call) = call_for(&serving, trip, &known, true).0 else {
                continue;
            };
            let offered = call
                .species
                .iter()
                .map(|(id, of)| (id.clone(), of.offered.clone()));
            let offered: Features = offered.collect();
            if knows_all(&offered, species) {
                found.insert(*number, offered);
            }
        }
        counts.called = days_of(trips, |number| found.contains_key(number)).len();
    }
    let left = days_of(trips, |number| !found.contains_key(number));
    let mut by_day = if afresh {
        BTreeMap::new()
    } else {
        by.kept_before(&left)
    };
    counts.kept_before = by_day.len();
    let left: BTreeSet<NaiveDate> = left.into_iter().filter(|day| !by_day.contains_key(day)).collect();
    counts.looked_at_again = left.len();
    by.look_up(&left, &mut by_day)?;
    for (number, trip) in trips {
        if let Some(offered) = by_day.get(&trip.date) {
            found.entry(*number).or_insert_with(|| offered.clone());
        }
    }
    Ok((found, counts))
}

/// Days of the trips whose number is wanted.
fn days_of(trips: &[StoredTrip], wanted: impl Fn(&u32) -> bool) -> BTreeSet<NaiveDate> {
    let of = trips.iter().filter(|(number, _)| wanted(number));
    of.map(|(_, trip)| trip.date).collect()
}

/// Whether all of `species` are known of, by the rules as they are.
fn knows_all(offered: &Features, species: &[Species]) -> bool {
    let knows = |one: &Species| {
        let of = offered.get(&SpeciesId::new(one.id.clone()));
        of.is_some_and(|of| of.are_of(one))
    };
    species.iter().all(knows)
}

/// What mornings are looked up by.
struct By<'a> {
    session: &'a Session,
    trips: &'a [StoredTrip],
    species: &'a [Species],
    own: &'a [WaterReading],
    lake_file: InputHash,
    archive: Issued,
    /// Hash of what the store holds up to the end of each day.
    values: BTreeMap<NaiveDate, InputHash>,
}

impl<'a> By<'a> {
    fn new(
        session: &'a Session,
        (trips, lake_file): (&'a [StoredTrip], InputHash),
        species: &'a [Species],
        own: &'a [WaterReading],
        set: &SeriesSet,
    ) -> By<'a> {
        let first = trips.iter().map(|(_, trip)| trip.date).min();
        let from = first.map(|day| day.and_time(NaiveTime::MIN).and_utc() - Duration::days(HASHED_DAYS));
        By {
            session,
            trips,
            species,
            own,
            lake_file,
            archive: Issued::new(session.store.folder().join(PAST)),
            values: from.map(|from| inputs_by_day(set, own, from)).unwrap_or_default(),
        }
    }

    /// The morning of a day: 04:30 at the lake, as `--as-of` with a date has it; a morning of today not after the session's clock.
    fn morning(&self, day: NaiveDate) -> Option<DateTime<Utc>> {
        let morning = self.session.clock.read_as_of(&day.to_string()).ok()?;
        Some(morning.min(self.session.as_of))
    }

    /// Hash of what a morning is made by: program, lake file, species, thresholds, bait, and the values up to that day with the angler's own
    /// readings. A value of the day itself makes it anew as well, which costs a second and no more.
    fn key(&self, day: NaiveDate) -> Option<String> {
        let morning = self.morning(day)?;
        let mut hash = Sha256::new();
        hash.update(code_version().as_bytes());
        hash.update(self.lake_file);
        hash.update(format!("{:?}", self.species));
        hash.update(format!("{:?}", self.session.thresholds));
        hash.update(format!(
            "{:?}",
            forage_at(&self.session.lake, self.trips, morning)
        ));
        hash.update(self.values.get(&morning.date_naive())?);
        Some(in_hexadecimal(&hash.finalize().into()))
    }

    /// What earlier fits found of `days` and still stands. A folder that cannot be listed is said; a file of another form, or a damaged
    /// one, is as if it were not there, since what it held is looked up again.
    fn kept_before(&self, days: &BTreeSet<NaiveDate>) -> BTreeMap<NaiveDate, Features> {
        let files = self.archive.all().unwrap_or_else(|error| {
            output::complain(&error.into());
            Vec::new()
        });
        let texts = files.into_iter().filter_map(|(_, text)| text.ok());
        let kept = texts.filter_map(|text| serde_json::from_str::<PastMorning>(&text).ok());
        let stands = |kept: &PastMorning| {
            kept.form == FORM && days.contains(&kept.day) && self.key(kept.day).as_ref() == Some(&kept.key)
        };
        kept.filter(stands).map(|kept| (kept.day, kept.offered)).collect()
    }

    /// Looks mornings up in the store, in the order of time, and keeps them. That one cannot be kept is said once and costs time.
    fn look_up(
        &self,
        days: &BTreeSet<NaiveDate>,
        found: &mut BTreeMap<NaiveDate, Features>,
    ) -> Result<(), Error> {
        let bar = progress(days.len());
        let states = AnalysedStates::new(self.session.store.folder().join(PAST_STATES));
        let past = PastMornings {
            lake: &self.session.lake,
            lake_file: self.lake_file,
            store: &self.session.store,
            thresholds: &self.session.thresholds,
            own: self.own,
            trips: self.trips,
            states: Some(&states),
        };
        let mut complained = false;
        for day in days {
            bar.inc(1);
            let Some(morning) = self.morning(*day) else {
                continue;
            };
            let (offered, told) = features_at(&past, self.species, morning);
            worth_telling(&told).for_each(|said| bar.suspend(|| output::remark(&said)));
            // A day of which the store holds nothing has no key: it is looked up every time, which costs little.
            if let Some(key) = self.key(*day) {
                let kept = PastMorning {
                    form: FORM.to_owned(),
                    key,
                    day: *day,
                    offered: offered.clone(),
                };
                let json = serde_json::to_string(&kept).map_err(|source| Error::Json { source })?;
                if let Err(error) = self.archive.keep(morning, &json)
                    && !std::mem::replace(&mut complained, true)
                {
                    bar.suspend(|| output::complain(&error.into()));
                }
            }
            found.insert(*day, offered);
        }
        bar.finish_and_clear();
        Ok(())
    }
}

/// A bar on a terminal, one line elsewhere, and nothing for a few mornings.
fn progress(count: usize) -> ProgressBar {
    if count < SAID_FROM {
        return ProgressBar::hidden();
    }
    if !std::io::stderr().is_terminal() {
        output::remark(&format!(
            "looking {count} mornings up in the store; what is found is kept for the next fit"
        ));
        return ProgressBar::hidden();
    }
    let style = ProgressStyle::with_template("mornings looked up [{bar:24}] {pos}/{len}")
        .expect("the template is a constant that the library accepts")
        .progress_chars("=> ");
    ProgressBar::with_draw_target(Some(count as u64), ProgressDrawTarget::stderr()).with_style(style)
}
