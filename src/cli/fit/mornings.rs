//! What the mornings of trips offered: from the calls made then, from what an earlier fit found, else from the store.

use std::collections::{BTreeMap, BTreeSet};
use std::io::IsTerminal as _;

use chrono::{DateTime, NaiveDate, Utc};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

use crate::analysis::{PastMornings, features_at, forage_at};
use crate::archive::Issued;
use crate::archive::analysed::{AnalysedStates, InputHash, code_version};
use crate::cli::session::Session;
use crate::cli::water::{readings_with, worth_telling};
use crate::cli::{calls, output};
use crate::error::Error;
use crate::reports::{Mornings, call_for};
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
/// Mornings from which on it is said that looking them up takes a while.
const SAID_FROM: usize = 5;

/// What a past morning offered, as it is kept.
#[derive(Debug, Serialize, Deserialize)]
struct PastMorning {
    form: String,
    /// Hash of what it was made by: program, lake file, species, readings and bait up to it.
    key: String,
    day: NaiveDate,
    offered: Features,
}

/// What the mornings of `trips` offered, by day.
///
/// # Errors
/// The calls cannot be listed. What an earlier fit kept and cannot be read is looked up again.
pub fn of_trips(
    session: &Session,
    (trips, lake_file): (&[StoredTrip], InputHash),
    species: &[Species],
    afresh: bool,
) -> Result<(BTreeMap<NaiveDate, Features>, Mornings), Error> {
    let known = Known {
        lake: &session.lake,
        species: &[],
        as_of: session.as_of,
    };
    let (own, _) = readings_with(&session.lake, &session.lake_file, Ok(trips), session.as_of);
    let by = By {
        session,
        trips,
        species,
        own: &own,
        lake_file,
    };
    let archive = Issued::new(session.store.folder().join(PAST));
    let mut found: BTreeMap<NaiveDate, Features> = BTreeMap::new();
    let mut counts = Mornings::default();
    if !afresh {
        let (calls, _) = calls::so_far(session)?;
        let current: Vec<IssuedCall> = calls
            .into_iter()
            .filter(|call| call.version == env!("CARGO_PKG_VERSION"))
            .collect();
        for (_, trip) in trips {
            let Some(call) = call_for(&current, trip, &known).0 else {
                continue;
            };
            let offered = call
                .species
                .iter()
                .map(|(id, of)| (id.clone(), of.offered.clone()));
            found.insert(trip.date, offered.collect());
        }
        counts.called = found.len();
        let days: BTreeSet<NaiveDate> = trips.iter().map(|(_, trip)| trip.date).collect();
        // Of two of one day the newer stands last.
        for kept in kept_before(&archive) {
            let wanted = days.contains(&kept.day) && by.key(kept.day).is_some_and(|key| key == kept.key);
            if wanted && !found.contains_key(&kept.day) {
                found.insert(kept.day, kept.offered);
                counts.kept_before += 1;
            }
        }
    }
    let left: BTreeSet<NaiveDate> = trips
        .iter()
        .map(|(_, trip)| trip.date)
        .filter(|day| !found.contains_key(day))
        .collect();
    counts.looked_at_again = left.len();
    by.look_up(&left, &archive, &mut found)?;
    Ok((found, counts))
}

/// Past mornings that can be read; another form, or a damaged file, is as if it were not there.
fn kept_before(archive: &Issued) -> Vec<PastMorning> {
    let files = archive.all().unwrap_or_default();
    let texts = files.into_iter().filter_map(|(_, text)| text.ok());
    texts
        .filter_map(|text| serde_json::from_str::<PastMorning>(&text).ok())
        .filter(|morning| morning.form == FORM)
        .collect()
}

/// What mornings are looked up by.
struct By<'a> {
    session: &'a Session,
    trips: &'a [StoredTrip],
    species: &'a [Species],
    own: &'a [WaterReading],
    lake_file: InputHash,
}

impl By<'_> {
    /// The morning of a day: 04:30 at the lake, as `--as-of` with a date has it; a morning of today not after the session's clock.
    fn morning(&self, day: NaiveDate) -> Option<DateTime<Utc>> {
        let morning = self.session.clock.read_as_of(&day.to_string()).ok()?;
        Some(morning.min(self.session.as_of))
    }

    /// Hash of what a morning is made by.
    fn key(&self, day: NaiveDate) -> Option<String> {
        let morning = self.morning(day)?;
        let mut hash = Sha256::new();
        hash.update(code_version().as_bytes());
        hash.update(self.lake_file);
        hash.update(format!("{:?}", self.species));
        hash.update(format!(
            "{:?}",
            forage_at(&self.session.lake, self.trips, morning)
        ));
        let before = self.own.iter().filter(|reading| reading.time <= morning);
        before.for_each(|reading| hash.update(format!("{reading:?}")));
        Some(hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect())
    }

    /// Looks mornings up in the store, in the order of time, and keeps them. That one cannot be kept is said once and costs time.
    fn look_up(
        &self,
        days: &BTreeSet<NaiveDate>,
        archive: &Issued,
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
            let Some((morning, key)) = self.morning(*day).zip(self.key(*day)) else {
                continue;
            };
            let (offered, told) = features_at(&past, self.species, morning);
            worth_telling(&told).for_each(|said| bar.suspend(|| output::remark(&said)));
            let kept = PastMorning {
                form: FORM.to_owned(),
                key,
                day: *day,
                offered,
            };
            let json = serde_json::to_string(&kept).map_err(|source| Error::Json { source })?;
            if let Err(error) = archive.keep(morning, &json)
                && !std::mem::replace(&mut complained, true)
            {
                bar.suspend(|| output::complain(&error.into()));
            }
            found.insert(*day, kept.offered);
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
