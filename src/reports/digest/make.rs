//! All of it in one value.

use chrono::{Datelike as _, DurationRound as _, TimeDelta};

use super::day::{DayParts, digest_day, first_day};
use super::value::{
    BestHours, DIGEST_FORM, Digest, DigestDay, FiredNotice, IsoWeekOf, SinceWeek, TurnoverWindow, WeekTrips,
};
use crate::clock::LakeClock;
use crate::column::{Water, WaterAhead};
use crate::conditions::{Conditions, ConditionsAhead, Foreseen, Held, WeekBehind};
use crate::lake::{InflowId, Lake};
use crate::math::quantiles::median;
use crate::plan::{CautionLevel, calm_hours, says_stay_ashore};
use crate::reports::{Brief, Changes, WhereaboutsSkill, changes};
use crate::series::SeriesSet;
use crate::species::Species;
use crate::whereabouts::learn::Beliefs;

/// Most days with calm hours that are told (project choice: a message names few).
const MOST_BEST: usize = 3;

/// What a digest is made from.
pub struct DigestParts<'a> {
    /// Lake.
    pub lake: &'a Lake,
    /// Flagged series at the clock.
    pub set: &'a SeriesSet,
    /// Conditions of the morning.
    pub conditions: &'a Conditions,
    /// Its water.
    pub water: &'a Water,
    /// Water of the coming mornings; `None` where the columns could not be run so far.
    pub ahead: Option<&'a WaterAhead>,
    /// Clocks of the coming mornings.
    pub mornings: &'a [chrono::DateTime<chrono::Utc>],
    /// Species of the lake file, in its order.
    pub species: &'a [Species],
    /// What is believed of their coefficients.
    pub beliefs: &'a Beliefs,
    /// The brief of the morning.
    pub brief: Brief,
    /// The brief of a week ago, and whether it was made again.
    pub week_ago: Option<(Brief, bool)>,
    /// The week behind.
    pub behind: WeekBehind,
    /// Trips of the week, where they are shared.
    pub trips: Option<WeekTrips>,
    /// How its calls did.
    pub record: Option<WhereaboutsSkill>,
    /// When the lake is to turn over.
    pub turnover: Option<TurnoverWindow>,
    /// Notices that fired.
    pub notices: Vec<FiredNotice>,
}

/// The digest of these parts. Days beyond the forecasts have what is known of them.
pub fn make_digest(parts: DigestParts<'_>) -> Digest {
    let clock = LakeClock::new(parts.lake.time_zone);
    let week = clock.civil_day(parts.conditions.as_of).iso_week();
    let mut ahead = vec![first_day(parts.lake, &parts.brief, parts.conditions)];
    ahead.extend(days_ahead(&parts));
    let since = parts.week_ago.map(|(before, made_again)| {
        let changes = changes::changes(&before, &parts.brief);
        SinceWeek {
            made_again,
            changes: if made_again {
                without_gaps(changes)
            } else {
                changes
            },
        }
    });
    Digest {
        form: DIGEST_FORM.to_owned(),
        week: IsoWeekOf {
            year: week.year(),
            week: week.week(),
        },
        best_hours: best_hours(&ahead),
        behind: parts.behind,
        since,
        trips: parts.trips,
        ahead,
        turnover: parts.turnover,
        notices: parts.notices,
        record: parts.record,
        brief: parts.brief,
    }
}

/// Without cautions that were not known then: a morning made again has none of its forecasts, and the gap is its own, no news.
fn without_gaps(mut changes: Changes) -> Changes {
    changes
        .cautions
        .retain(|change| change.before != Some(CautionLevel::NotKnown));
    changes
}

/// The coming days after the first.
fn days_ahead(parts: &DigestParts<'_>) -> Vec<DigestDay> {
    let conditions_ahead = ConditionsAhead::new(parts.lake, parts.set, parts.conditions);
    let flows = parts.ahead.map_or(&[][..], |ahead| ahead.flows.as_slice());
    let of = |at: &chrono::DateTime<chrono::Utc>| {
        let found = parts
            .ahead
            .and_then(|ahead| ahead.days.iter().find(|d| d.at == *at));
        let day = LakeClock::new(parts.lake.time_zone).standard_day(*at);
        let surfaces = &parts.water.surface_outlook;
        let surface_degc = surfaces.iter().find(|s| s.date == day).map(|s| s.median_degc);
        let rivers = found.map_or(&[][..], |day| day.rivers.as_slice());
        let river_temps: Vec<(InflowId, f64)> = rivers
            .iter()
            .filter_map(|river| Some((river.inflow.clone(), median(&river.temp_degc)?)))
            .collect();
        let (conditions, mut held) = conditions_ahead.at(&Foreseen {
            at: *at,
            flows,
            surface_degc,
            river_temps: &river_temps,
        });
        let mut water = parts.water.clone();
        match found {
            Some(day) => {
                water.zones.clone_from(&day.zones);
                for river in &mut water.rivers {
                    if let Some(ahead) = day.rivers.iter().find(|r| r.inflow == river.inflow) {
                        river.clone_from(ahead);
                    }
                }
            }
            None => held.insert(0, Held::Water),
        }
        digest_day(&DayParts {
            lake: parts.lake,
            conditions: &conditions,
            water: &water,
            alerts: parts.set.alerts.as_ref(),
            species: parts.species,
            beliefs: parts.beliefs,
            brief: &parts.brief,
            held: &held,
        })
    };
    parts.mornings.iter().map(of).collect()
}

/// The calmest days: calm hours in the likeliest zone of the first species that has one, on days without a severe caution that
/// keeps a boat ashore; the longest of them, in the order of time.
fn best_hours(days: &[DigestDay]) -> Vec<BestHours> {
    let of = |day: &DigestDay| {
        let ashore = |c: &crate::plan::Caution| c.level == CautionLevel::Severe && says_stay_ashore(c.hazard);
        let call = day.calls.iter().find(|call| !call.zones.is_empty())?;
        let zone = call.likeliest_fishable.clone();
        let (from, to) = calm_hours(&day.hours, &zone).filter(|_| !day.cautions.iter().any(ashore))?;
        let inside = day
            .hours
            .hours
            .iter()
            .filter(|hour| from <= hour.time && hour.time < to);
        Some(BestHours {
            // Whole seconds within the hours of the day.
            from: from.duration_round_up(TimeDelta::seconds(1)).ok()?,
            to: to.duration_trunc(TimeDelta::seconds(1)).ok()?,
            species: call.species.clone(),
            share_frac: call.zones.get(&zone)?.share,
            wind_max_m_s: inside
                .filter_map(|hour| hour.wind_speed_m_s)
                .max_by(f64::total_cmp)?,
            zone,
        })
    };
    let mut found: Vec<BestHours> = days.iter().filter_map(of).collect();
    found.sort_by(|a, b| {
        let longer = (b.to - b.from).cmp(&(a.to - a.from));
        longer.then(a.wind_max_m_s.total_cmp(&b.wind_max_m_s))
    });
    found.truncate(MOST_BEST);
    found.sort_by_key(|hours| hours.from);
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Hazard;
    use crate::reports::CautionChange;

    #[test]
    fn what_a_morning_made_again_did_not_know_is_no_news() {
        let change = |hazard, before, now| CautionChange { hazard, before, now };
        let news = change(
            Hazard::ColdWater,
            Some(CautionLevel::Caution),
            Some(CautionLevel::Strong),
        );
        let came = change(Hazard::Heat, None, Some(CautionLevel::NotKnown));
        let changes = Changes {
            since: chrono::DateTime::UNIX_EPOCH,
            figures: Vec::new(),
            ramps: Vec::new(),
            cautions: vec![
                change(
                    Hazard::Wind,
                    Some(CautionLevel::NotKnown),
                    Some(CautionLevel::Caution),
                ),
                news.clone(),
                change(Hazard::Fog, Some(CautionLevel::NotKnown), None),
                came.clone(),
            ],
        };
        assert_eq!(without_gaps(changes).cautions, [news, came]);
    }
}
