//! The forecasts of a session's lake: kept with each brief, read for the skill page, and what briefs show because of them.

use chrono::Duration;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

use super::output;
use super::session::Session;
use crate::analysis::MorningWater;
use crate::archive::analysed::{code_version, in_hexadecimal};
use crate::archive::{
    FORECAST_FORM, Issued, KeptForecast, KeptTurnover, TURNOVER_FORM, keep_forecast, keep_turnover,
    write_whole,
};
use crate::column::{DayAhead, SurfaceDay};
use crate::conditions::{ObservedDays, observed_surface};
use crate::error::Error;
use crate::reports::forecasts::{
    ForecastOf, LeadRule, kept_forecast, known_at, record_of, show_by_rules, surface_rules,
};
use crate::reports::{Making, TurnoverOutlook, kept_turnover};
use crate::series::SeriesSet;
use crate::skill::lead_scores::LEAST_CASES;

/// Folders of the forecasts and the turnover outlooks inside a lake's store.
const FORECASTS: &str = "forecasts";
const TURNOVERS: &str = "turnover-forecasts";
/// An outlook counts as today's for so long (project choice).
const NEW_OUTLOOK_H: i64 = 24;
/// What briefs show at each lead, as it was found by the first brief of a day.
const RULES: &str = "surface-rules.json";
/// Newest forecasts that rules are made from (project choice: a little over a year of mornings).
const RULED_BY: usize = 400;

fn archive(session: &Session) -> Issued {
    Issued::new(session.store.folder().join(FORECASTS))
}

/// Keeps the forecast of a morning. That it cannot be kept is said, and costs the brief nothing.
pub fn keep(session: &Session, morning: &MorningWater, making: &Making<'_>) {
    let forecast = kept_forecast(&session.lake, (&morning.conditions, &morning.water), making);
    if let Err(error) = keep_forecast(&archive(session), &forecast) {
        output::complain(&error.into());
    }
}

/// Keeps an outlook on the turnover. That it cannot be kept is said, and costs the command nothing.
pub fn keep_outlook(session: &Session, outlook: &TurnoverOutlook) {
    let Some(kept) = kept_turnover(outlook, session.started_at, session.is_replay()) else {
        return;
    };
    if let Err(error) = keep_turnover(&turnovers(session), &kept) {
        output::complain(&error.into());
    }
}

/// The newest outlook of the day before the clock of the session, of the same kind, replayed or not; `None` without one.
pub fn newest_outlook(session: &Session) -> Option<KeptTurnover> {
    let (outlooks, _) = match turnovers_so_far(session) {
        Ok(found) => found,
        Err(error) => {
            output::complain(&error);
            return None;
        }
    };
    let is_new = |o: &KeptTurnover| session.as_of - o.as_of <= Duration::hours(NEW_OUTLOOK_H);
    let own = outlooks.into_iter().filter(|o| o.replayed == session.is_replay());
    own.filter(is_new).max_by_key(|o| (o.as_of, o.made_at))
}

fn turnovers(session: &Session) -> Issued {
    Issued::new(session.store.folder().join(TURNOVERS))
}

/// Every forecast up to the clock of the session, in the order of their clocks, and how many files cannot be read.
///
/// # Errors
/// The folder cannot be read.
pub fn so_far(session: &Session) -> Result<(Vec<KeptForecast>, usize), Error> {
    let files = archive(session).all()?;
    let form = |f: &KeptForecast| (f.form.clone(), f.lake.clone());
    let (mut forecasts, unreadable) = read_all(session, files, (FORECAST_FORM, "forecast"), form);
    forecasts.retain(|forecast| forecast.as_of <= session.as_of);
    Ok((forecasts, unreadable))
}

/// The same of turnover outlooks.
///
/// # Errors
/// As [`so_far`].
pub fn turnovers_so_far(session: &Session) -> Result<(Vec<KeptTurnover>, usize), Error> {
    let files = turnovers(session).all()?;
    let form = |f: &KeptTurnover| (f.form.clone(), f.lake.clone());
    let (mut outlooks, unreadable) = read_all(session, files, (TURNOVER_FORM, "turnover outlook"), form);
    outlooks.retain(|outlook| outlook.as_of <= session.as_of);
    Ok((outlooks, unreadable))
}

/// The files that are of the wanted form and lake; each of the others is named, with what to do.
fn read_all<T: DeserializeOwned>(
    session: &Session,
    files: Vec<crate::archive::IssuedFile>,
    (wanted, what): (&str, &str),
    form_and_lake: impl Fn(&T) -> (String, String),
) -> (Vec<T>, usize) {
    let (mut found, mut unreadable) = (Vec::new(), 0);
    for (path, json) in files {
        let read = json.map_err(|error| error.to_string());
        let read = read.and_then(|json| serde_json::from_str::<T>(&json).map_err(|error| error.to_string()));
        let why = match read {
            Ok(one) => match form_and_lake(&one) {
                (form, lake) if form == wanted && lake == session.lake.id => {
                    found.push(one);
                    continue;
                }
                (form, lake) => format!(
                    "found form {form:?} of lake {lake:?}, wanted {wanted:?} of {:?}",
                    session.lake.id
                ),
            },
            Err(why) => format!("not a {what} that can be read ({why})"),
        };
        unreadable += 1;
        output::remark(&format!(
            "{}: {why}; it is passed over, move it away",
            path.display()
        ));
    }
    (found, unreadable)
}

/// Shows each day of the surface ahead by what the archive says of its lead. While that is young nothing changes; where it cannot be read the
/// model's figures stand, and it is said.
pub fn show(session: &Session, set: &SeriesSet, ahead: &[DayAhead], outlook: &mut [SurfaceDay]) {
    let rules = match rules(session, set) {
        Ok(rules) if rules.is_empty() => return,
        Ok(rules) => rules,
        Err(error) => return output::complain(&error),
    };
    let observed = surface_alone(session, set);
    let Some(record) = record_of(ForecastOf::SurfaceTemp, &observed) else {
        return;
    };
    let known = known_at(
        ForecastOf::SurfaceTemp,
        (&record, &session.clock),
        session.as_of,
        None,
    );
    let today = session.clock.standard_day(session.as_of);
    show_by_rules(outlook, ahead, &rules, (&known, today));
}

/// Rules of a day, and what they were made from.
#[derive(Serialize, Deserialize)]
struct KeptRules {
    key: String,
    rules: Vec<LeadRule>,
}

/// The rules of the session's day: those that an earlier brief of the day found in the same archive, else made anew.
fn rules(session: &Session, set: &SeriesSet) -> Result<Vec<LeadRule>, Error> {
    let archive = archive(session);
    let names = archive.names()?;
    if names.len() < LEAST_CASES {
        return Ok(Vec::new());
    }
    let mut hash = Sha256::new();
    hash.update(code_version());
    hash.update(session.clock.standard_day(session.as_of).to_string());
    // A forecast kept today has nothing to say yet, so that a second brief finds the rules of the first.
    let today = session
        .clock
        .standard_day_start(session.clock.standard_day(session.as_of));
    let stamp = today.format("%Y%m%dT%H%M%SZ").to_string();
    names
        .iter()
        .filter(|name| **name < stamp)
        .for_each(|name| hash.update(name));
    let key = in_hexadecimal(&hash.finalize().into());
    let path = session.store.folder().join(RULES);
    let kept = std::fs::read(&path).ok();
    let kept: Option<KeptRules> = kept.and_then(|bytes| serde_json::from_slice(&bytes).ok());
    if let Some(kept) = kept.filter(|kept| kept.key == key) {
        return Ok(kept.rules);
    }
    let mut files = archive.all()?;
    files.drain(..files.len().saturating_sub(RULED_BY));
    let form = |f: &KeptForecast| (f.form.clone(), f.lake.clone());
    let (mut forecasts, _) = read_all(session, files, (FORECAST_FORM, "forecast"), form);
    forecasts.retain(|forecast| forecast.as_of <= session.as_of);
    let observed = surface_alone(session, set);
    let rules = surface_rules((&session.lake, session.as_of), &forecasts, &observed)?;
    let kept = KeptRules { key, rules };
    let json = serde_json::to_vec(&kept).map_err(|source| Error::Json { source })?;
    if let Err(source) = write_whole(session.store.folder(), &path, &json) {
        output::complain(&crate::archive::ArchiveError::Write { path, source }.into());
    }
    Ok(kept.rules)
}

/// The surface as observed, which is all that rules look at.
fn surface_alone(session: &Session, set: &SeriesSet) -> ObservedDays {
    ObservedDays {
        surface: observed_surface(&session.lake, set),
        level: None,
        gauged: None,
        profiles: Vec::new(),
    }
}
