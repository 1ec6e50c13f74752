//! From a session to its digest.

use chrono::{DateTime, Duration, NaiveDate, Utc};

use crate::analysis::{MorningSource, forage_at, morning_water, season_of, water_ahead};
use crate::archive::analysed::AnalysedStates;
use crate::archive::{Issued, KeptTurnover};
use crate::cli::brief::ISSUED;
use crate::cli::morning::{beliefs, fetched_set, trips_so_far};
use crate::cli::session::Session;
use crate::cli::water::{SessionWater, hash_of_file, readings_with, states, water_of_morning, worth_telling};
use crate::cli::{calls, forecasts, notices, output};
use crate::column::WaterAhead;
use crate::conditions::week_behind;
use crate::error::Error;
use crate::lake::{SpeciesId, ZoneId};
use crate::quality::flag_set;
use crate::reports::{
    Brief, Digest, DigestParts, TurnoverWindow, header, make_brief_by, make_digest, mornings_ahead,
    species_of, week_record, week_trips,
};
use crate::series::SeriesSet;
use crate::species::{Species, builtin_ids};
use crate::trips::{Known, StoredTrip, TripError};
use crate::whereabouts::learn::Beliefs;

/// Days after the day of the brief.
const DAYS_AHEAD: u64 = 6;
/// The brief of a week ago is one issued so many hours before the clock: a week, give or take a day and a half (project choice).
const WEEK_AGO_H: i64 = 7 * 24;
const WEEK_AGO_SPREAD_H: i64 = 36;
/// Folder of the states of past water inside a lake's store, which fits use too.
const PAST_STATES: &str = "past-water-states";

/// The digest of the session's lake at its clock; with its trips where the user shares them.
///
/// # Errors
/// A faulty lake file, a store that cannot be read at all, calls and trips that no score can use. Services that fail are gaps.
pub fn digest(session: &Session, share_trips: bool) -> Result<Digest, Error> {
    session.lake.check_for_brief()?;
    let set = fetched_set(session)?;
    let species = species_of(&session.lake)?;
    let trips: Result<Vec<StoredTrip>, TripError> = trips_so_far(session);
    let beliefs = beliefs(session, &trips, &species);
    // Before the water of today: that of the week before, and its series, are gone by then.
    let week_ago = week_ago(session, &trips, (&species, &beliefs))?;
    let SessionWater { morning, .. } = water_of_morning(session, &set, &trips)?;
    worth_telling(&morning.told).for_each(|said| output::remark(&said));
    let brief = make_brief_by(
        &session.lake,
        &set,
        (morning.conditions.clone(), &morning.water),
        (&species, &beliefs),
        None,
    );
    let mornings = mornings_ahead(&session.clock, session.as_of, DAYS_AHEAD);
    let level_m = morning.conditions.pool.as_ref().map(|pool| pool.elevation_m);
    let ahead = coming_water(session, (&set, level_m), &trips, &mornings)?;
    let (shared, record) = of_trips(session, &trips, &species, share_trips)?;
    Ok(make_digest(DigestParts {
        lake: &session.lake,
        set: &set,
        conditions: &morning.conditions,
        water: &morning.water,
        ahead: ahead.as_ref(),
        mornings: &mornings,
        species: &species,
        beliefs: &beliefs,
        brief,
        week_ago,
        behind: week_behind(&session.lake, &set),
        trips: shared,
        record,
        turnover: turnover_window(session),
        notices: notices::fired_in_week(session),
    }))
}

/// The window of the newest outlook; `None` without one of the day, and out of season.
fn turnover_window(session: &Session) -> Option<TurnoverWindow> {
    let outlook = forecasts::newest_outlook(session)?;
    let today = session.clock.standard_day(session.as_of);
    let (_, until) = season_of(&session.lake).around(today)?;
    window_of(&outlook, &session.lake.main_body().id, (today, until))
}

/// The window of one zone; `None` where nine of ten runs do not turn over within the outlook's days, or have before them.
fn window_of(
    outlook: &KeptTurnover,
    zone: &ZoneId,
    (today, until): (NaiveDate, NaiveDate),
) -> Option<TurnoverWindow> {
    Some(TurnoverWindow {
        // With none of these it may have begun: the window is no less worth telling then.
        early: outlook.day_reached(zone, 0.1),
        median: outlook.day_reached(zone, 0.5),
        late: outlook.day_reached(zone, 0.9)?,
        by_today_prob: outlook.turned_over_prob(zone, today)?,
        within_prob: outlook.turned_over_prob(zone, until)?,
        until,
    })
}

/// The water of the coming mornings; that it cannot be run is said, and stands in the digest.
fn coming_water(
    session: &Session,
    (set, level_m): (&SeriesSet, Option<f64>),
    trips: &Result<Vec<StoredTrip>, TripError>,
    mornings: &[DateTime<Utc>],
) -> Result<Option<WaterAhead>, Error> {
    let (own, _) = readings_with(&session.lake, &session.lake_file, trips.as_deref(), set.as_of);
    let states = states(&session.store);
    let source = MorningSource {
        lake_file: hash_of_file(&session.lake_file)?,
        own: &own,
        states: Some(&states),
        forage: &[],
        ahead: true,
    };
    let ahead = water_ahead(&session.lake, (set, level_m), &source, mornings);
    Ok(ahead
        .map_err(|error| {
            output::remark(&format!(
                "the water of the days ahead stands as it does today: {error}"
            ))
        })
        .ok())
}

/// Trips and catch of the week where they are shared, and how the week's calls did against them, which is told always: the words
/// leave fish and hours out where they are not shared.
fn of_trips(
    session: &Session,
    trips: &Result<Vec<StoredTrip>, TripError>,
    species: &[Species],
    share_trips: bool,
) -> Result<
    (
        Option<crate::reports::WeekTrips>,
        Option<crate::reports::WhereaboutsSkill>,
    ),
    Error,
> {
    // That the log cannot be read has been said with the water.
    let Ok(trips) = trips else { return Ok((None, None)) };
    let ids: Vec<&str> = builtin_ids().collect();
    let known = Known {
        lake: &session.lake,
        species: &ids,
        as_of: session.as_of,
    };
    let wanted: Vec<SpeciesId> = species.iter().map(|s| SpeciesId::new(s.id.clone())).collect();
    let shared = (share_trips && !trips.is_empty()).then(|| week_trips(trips, &known, &wanted));
    let (calls, unreadable) = calls::so_far(session)?;
    let record = week_record(header(&session.lake), &known, (&calls, unreadable), trips)?;
    Ok((shared, record))
}

/// The brief issued a week ago; without one, that morning made again from what the store holds of the time up to it, by what
/// is believed today. `None` where the store holds nothing of that time.
fn week_ago(
    session: &Session,
    trips: &Result<Vec<StoredTrip>, TripError>,
    (species, beliefs): (&[Species], &Beliefs),
) -> Result<Option<(Brief, bool)>, Error> {
    let wanted = session.as_of - Duration::hours(WEEK_AGO_H);
    let spread = Duration::hours(WEEK_AGO_SPREAD_H);
    let archive = Issued::new(session.store.folder().join(ISSUED));
    let issued = archive.newest_until(wanted + spread).unwrap_or_else(|error| {
        output::complain(&error.into());
        None
    });
    let issued = issued.and_then(|json| serde_json::from_str::<Brief>(&json).ok());
    if let Some(brief) = issued.filter(|brief| brief.as_of >= wanted - spread) {
        return Ok(Some((brief, false)));
    }
    let mut set = session.store.load(&session.lake, wanted);
    if set.observations.values().all(Vec::is_empty) {
        return Ok(None);
    }
    flag_set(&mut set, &session.lake, &session.thresholds);
    let (own, _) = readings_with(&session.lake, &session.lake_file, trips.as_deref(), wanted);
    let states = AnalysedStates::new(session.store.folder().join(PAST_STATES));
    let forage = trips
        .as_ref()
        .map_or_else(|_| Vec::new(), |trips| forage_at(&session.lake, trips, wanted));
    let source = MorningSource {
        lake_file: hash_of_file(&session.lake_file)?,
        own: &own,
        states: Some(&states),
        forage: &forage,
        ahead: false,
    };
    let morning = morning_water(&session.lake, &set, &source);
    let of_morning = (morning.conditions, &morning.water);
    let brief = make_brief_by(&session.lake, &set, of_morning, (species, beliefs), None);
    Ok(Some((brief, true)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::archive::{KeptPlace, TURNOVER_FORM};

    fn day(text: &str) -> NaiveDate {
        text.parse().expect("a day")
    }

    /// An outlook of four days from 1 November: a part has turned over before, then so much each day.
    fn outlook(already_prob: f64, day_prob: [f64; 4]) -> KeptTurnover {
        let at = "2026-11-01T12:00:00Z".parse().expect("an instant");
        KeptTurnover {
            form: TURNOVER_FORM.to_owned(),
            version: String::new(),
            lake: "x".to_owned(),
            as_of: at,
            made_at: at,
            replayed: false,
            places: vec![KeptPlace {
                zone: ZoneId::new("main"),
                already_prob,
                first_day: day("2026-11-01"),
                day_prob: day_prob.to_vec(),
                later_prob: 1.0 - already_prob - day_prob.iter().sum::<f64>(),
            }],
        }
    }

    #[test]
    fn a_turnover_that_may_have_begun_has_a_window_without_its_first_end() {
        let of = |already, days| {
            let span = (day("2026-11-01"), day("2026-12-31"));
            window_of(&outlook(already, days), &ZoneId::new("main"), span)
        };
        // By hand: 0.12 before and 0.10 on the first day make 0.22; 0.52 on the second, 0.92 on the third.
        let near = of(0.12, [0.10, 0.30, 0.40, 0.06]).expect("a window");
        assert_eq!((near.early, near.median), (None, Some(day("2026-11-02"))));
        assert_eq!((near.late, near.until), (day("2026-11-03"), day("2026-12-31")));
        assert!((near.by_today_prob - 0.22).abs() < 1e-9 && (near.within_prob - 0.98).abs() < 1e-9);
        // More than half before the first day: no middle either.
        let nearer = of(0.6, [0.1, 0.1, 0.1, 0.0]).expect("a window");
        assert_eq!(
            (nearer.early, nearer.median, nearer.late),
            (None, None, day("2026-11-03"))
        );
        let far = of(0.0, [0.1, 0.4, 0.4, 0.1]).expect("a window");
        assert_eq!(far.early, Some(day("2026-11-01")));
        // Nine of ten before the first day, or not within the days.
        assert_eq!(of(0.95, [0.05, 0.0, 0.0, 0.0]), None);
        assert_eq!(of(0.2, [0.1, 0.1, 0.1, 0.1]), None);
    }
}
