//! Invented forecasts of the demonstration lake, so that its skill page can be seen: what came, with seeded errors. They say nothing of the
//! program, are marked as invented, and are never kept.

use chrono::{Days, NaiveDate, NaiveTime};

use super::session::Session;
use crate::archive::{FORECAST_FORM, KeptDay, KeptForecast, KeptThermocline};
use crate::conditions::ObservedDays;
use crate::math::streams::{normal, stream};
use crate::series::Daily;

/// Mornings, members, days ahead.
const MORNINGS: u64 = 200;
const MEMBERS: usize = 20;
const AHEAD: u64 = 10;
const SEED: u64 = 0x696E_7665_6E74;
/// The surface is too warm by so much, so that a correction has something to mend.
const TOO_WARM_DEGC: f64 = 0.6;
/// How much of an error is still there a morning later.
const LASTING: f64 = 0.6;
/// Hour of the levels.
pub const HOUR: NaiveTime = match NaiveTime::from_hms_opt(5, 0, 0) {
    Some(hour) => hour,
    None => NaiveTime::MIN,
};

/// Errors of one thing: of the mean, and of the members about it, as they grow with the lead.
struct Errors {
    name: &'static str,
    shift: f64,
    sd_of_lead: fn(f64) -> f64,
    /// Whether they are shares of the value.
    relative: bool,
}

const SURFACE: Errors = Errors {
    name: "surface",
    shift: TOO_WARM_DEGC,
    sd_of_lead: |lead| 0.25 + 0.05 * lead,
    relative: false,
};
const LEVEL: Errors = Errors {
    name: "level",
    shift: 0.0,
    sd_of_lead: |lead| 0.03 * lead,
    relative: false,
};
const GAUGED: Errors = Errors {
    name: "gauged",
    shift: 0.0,
    sd_of_lead: |lead| 0.08 + 0.05 * lead,
    relative: true,
};

/// One invented forecast a morning before the clock, oldest first.
pub fn invented_forecasts(session: &Session, observed: &ObservedDays) -> Vec<KeptForecast> {
    let today = session.clock.civil_day(session.as_of);
    let hour = session.clock.local(session.as_of).time();
    let mut errors: [Vec<f64>; 3] = [vec![0.0; MEMBERS], vec![0.0; MEMBERS], vec![0.0; MEMBERS]];
    let mornings = (1..=MORNINGS).rev();
    let mut forecasts = Vec::new();
    for day in mornings.filter_map(|ago| today.checked_sub_days(Days::new(ago))) {
        let as_of = session.clock.instant(day.and_time(hour));
        let mut of = |slot: usize, what: &Errors, record: Option<&Daily>| {
            let mut numbers = stream(SEED, &format!("{}/{day}", what.name));
            let last = errors[slot][0];
            errors[slot][0] = LASTING * last + (1.0 - LASTING * LASTING).sqrt() * normal(&mut numbers);
            let error = errors[slot][0];
            days_ahead(day, |date, lead| {
                let value = record?.get(date)?;
                let scale = if what.relative { value } else { 1.0 };
                let sd = (what.sd_of_lead)(lead) * scale;
                let member = |_| value + what.shift + sd * (error + normal(&mut numbers));
                Some((0..MEMBERS).map(member).collect())
            })
        };
        let surface = of(0, &SURFACE, observed.surface.as_ref().map(|(daily, _)| daily));
        let level = of(1, &LEVEL, observed.level.as_ref().map(|(daily, _)| daily));
        let gauged = of(2, &GAUGED, observed.gauged.as_ref());
        forecasts.push(KeptForecast {
            form: FORECAST_FORM.to_owned(),
            version: "invented".to_owned(),
            lake: session.lake.id.clone(),
            as_of,
            made_at: as_of,
            replayed: false,
            level_hour: Some(HOUR),
            level_newest_m: (observed.level.as_ref()).and_then(|(daily, _)| daily.get(day.pred_opt()?)),
            thermocline: surface.iter().map(thermocline).collect(),
            surface,
            level,
            gauged,
            gauged_newest: None,
        });
    }
    forecasts
}

fn days_ahead(day: NaiveDate, mut members: impl FnMut(NaiveDate, f64) -> Option<Vec<f64>>) -> Vec<KeptDay> {
    let ahead = (1..=AHEAD).filter_map(|lead| Some((day.checked_add_days(Days::new(lead))?, lead)));
    ahead
        .filter_map(|(date, lead)| {
            Some(KeptDay {
                date,
                members: members(date, lead as f64)?,
            })
        })
        .collect()
}

/// A thermocline that is there while the surface is warm: nothing on the demonstration lake measures one.
fn thermocline(surface: &KeptDay) -> KeptThermocline {
    let warm = surface.members.iter().filter(|degc| **degc > 12.0).count();
    KeptThermocline {
        date: surface.date,
        members: vec![9.0; warm],
        without: surface.members.len() - warm,
    }
}
