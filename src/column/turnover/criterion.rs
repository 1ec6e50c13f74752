//! When a column has turned over: the criterion that hindcast and outlook share.
//!
//! Turned over: the first day after the maximum of stability on which the density of the bottom is less than
//! 0.1 kg/m3 (Woolway et al. 2021, from memory) above that of the surface, and is so on at least 7 of the next 10 days
//! (project choice). The surface is taken at 5 % of the depth, below the warm skin of a fine day. Stability is that of
//! a column of even area: it only says from which day on to look, and the lake's own area moves that day by little.

use chrono::{Datelike as _, Duration, NaiveDate};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::math::interpolate::{linear, trapezoid};
use crate::physics::stratification::TURNED_OVER_KG_M3;
use crate::physics::water::water_density_kg_m3;

/// Share of the depth above which the water does not count (recommended practice of this project).
const SKIN_FRAC: f64 = 0.05;
/// Days after the first in which the column has to stay mixed, and on how many of ten of them.
pub const STAYS_DAYS: i64 = 10;
const STAYS_TENTHS: usize = 7;
/// Longest gap between the last stratified and the first mixed profile that dates a turnover, days (project choice).
pub const LONGEST_GAP_DAYS: i64 = 10;
/// Longest time from the maximum of stability to the turnover, days; beyond lies the next summer.
const LONGEST_AUTUMN_DAYS: i64 = 270;
/// Least of the maximum of the density difference in a season that has an autumn turnover: twice the limit.
const STRATIFIED_KG_M3: f64 = 2.0 * TURNED_OVER_KG_M3;
/// The other rule in use: the surface within so much of the bottom.
pub const ALIKE_DEGC: f64 = 1.0;

/// A day's column, as far as turnover goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MixDay {
    /// Day.
    pub day: NaiveDate,
    /// Density of the bottom less that of the surface.
    pub difference_kg_m3: f64,
    /// Moment of the density about the middle of the depth: grows as stability does.
    pub moment: f64,
    /// Temperature under the skin.
    pub top_degc: f64,
    /// Temperature at the bottom.
    pub bottom_degc: f64,
    /// Whether it is mixed past half of its depth: density within 0.1 kg/m3 of that under the skin down to there, where a turnover is
    /// under way.
    pub is_half_mixed: bool,
}

impl MixDay {
    /// From the mean temperatures of a day by depth, depths increasing; `None` for fewer than two, or one that is not finite.
    pub fn of(day: NaiveDate, depth_m: &[f64], temp_degc: &[f64]) -> Option<MixDay> {
        let bed_m = *depth_m.last()?;
        if depth_m.len() < 2 || temp_degc.iter().any(|t| !t.is_finite()) {
            return None;
        }
        let top_degc = linear(depth_m, temp_degc, SKIN_FRAC * bed_m)?;
        let density: Vec<f64> = temp_degc.iter().map(|t| water_density_kg_m3(*t)).collect();
        let middle_m = 0.5 * (depth_m[0] + bed_m);
        let arm: Vec<f64> = depth_m
            .iter()
            .zip(&density)
            .map(|(z, d)| (z - middle_m) * (d - density[0]))
            .collect();
        let under_skin_kg_m3 = water_density_kg_m3(top_degc);
        let half_kg_m3 = linear(depth_m, &density, 0.5 * bed_m)?;
        Some(MixDay {
            day,
            difference_kg_m3: density[density.len() - 1] - under_skin_kg_m3,
            is_half_mixed: half_kg_m3 - under_skin_kg_m3 < TURNED_OVER_KG_M3,
            moment: trapezoid(depth_m, &arm),
            top_degc,
            bottom_degc: *temp_degc.last()?,
        })
    }

    /// Whether the column counts as mixed on this day.
    pub fn is_mixed(&self) -> bool {
        self.difference_kg_m3 < TURNED_OVER_KG_M3
    }

    /// Whether it is mixed by the other rule, surface and bottom within 1 degC.
    pub fn is_alike(&self) -> bool {
        (self.top_degc - self.bottom_degc).abs() < ALIKE_DEGC
    }

    /// Whether the surface is the warmer: under ice, or in a lake below 4 degC, it is not.
    fn is_warm_above(&self) -> bool {
        self.top_degc > self.bottom_degc
    }
}

/// When a year turned over, by its runs or by its profiles.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Mixing {
    /// Last day before that was not mixed.
    pub last_stratified: NaiveDate,
    /// First mixed day.
    pub first_mixed: NaiveDate,
}

impl Mixing {
    /// Days from the last stratified day to the first mixed one.
    pub fn gap_days(self) -> i64 {
        (self.first_mixed - self.last_stratified).num_days()
    }

    /// The middle of the interval, where that is short enough to be a date.
    pub fn date(self) -> Option<NaiveDate> {
        let middle = self.last_stratified + Duration::days((self.gap_days() + 1) / 2);
        (self.gap_days() <= LONGEST_GAP_DAYS).then_some(middle)
    }
}

/// What is known of a year's turnover.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Autumn {
    /// Last day that is known not to be mixed.
    pub last_stratified: NaiveDate,
    /// First mixed day; `None` where the record, or the water free of ice, ends before it: the turnover came later than the day above.
    pub first_mixed: Option<NaiveDate>,
}

/// The day of the greatest stability; the last of equals. `None` without days.
pub fn most_stable(days: &[MixDay]) -> Option<&MixDay> {
    days.iter().max_by(|a, b| a.moment.total_cmp(&b.moment))
}

/// Place of the first day from `start` on, at most 270 days after `peak`, that is mixed and stays so on 7 of the next 10 days; of those
/// that are there, where the record ends before.
fn first_staying(
    days: &[MixDay],
    (start, peak): (usize, NaiveDate),
    mixed: impl Fn(&MixDay) -> bool,
) -> Option<usize> {
    (start..days.len())
        .take_while(|i| (days[*i].day - peak).num_days() <= LONGEST_AUTUMN_DAYS)
        .find(|i| {
            let here = &days[*i];
            let after: Vec<&MixDay> = days[i + 1..]
                .iter()
                .take_while(|d| (d.day - here.day).num_days() <= STAYS_DAYS)
                .collect();
            let still = after.iter().filter(|d| mixed(d)).count();
            mixed(here) && 10 * still >= STAYS_TENTHS * after.len()
        })
}

/// The turnover after `peak`; days stand in the order of time. `None` where the peak is no stratification, the column does not mix,
/// or no stratified day is known before it did.
pub fn mixing_after(days: &[MixDay], peak: &MixDay) -> Option<Mixing> {
    if peak.difference_kg_m3 < STRATIFIED_KG_M3 {
        return None;
    }
    let start = days.partition_point(|d| d.day <= peak.day);
    let first = first_staying(days, (start, peak.day), MixDay::is_mixed)?;
    let before = days[..first].iter().rev().find(|d| !d.is_mixed())?;
    Some(Mixing {
        last_stratified: before.day,
        first_mixed: days[first].day,
    })
}

/// The last day from `peak` on that is not mixed and has the warmer water above, as under ice it has not; days stand in the order of
/// time. `None` where the peak is no stratification.
pub fn last_layered(days: &[MixDay], peak: &MixDay) -> Option<NaiveDate> {
    if peak.difference_kg_m3 < STRATIFIED_KG_M3 {
        return None;
    }
    let layered = |d: &&MixDay| d.day >= peak.day && !d.is_mixed() && d.is_warm_above();
    days.iter().rev().find(layered).map(|d| d.day)
}

/// Month and day of the autumn equinox, north and south of the equator, to a day.
const EQUINOX: [(u32, u32); 2] = [(9, 23), (3, 21)];

/// First day of the autumn of the season that ends with `until`: the equinox. From then on a lake of the middle latitudes loses heat, and what
/// stratifies it anew is a warm spell or a cold river along its bed, and no summer (project choice).
pub fn autumn_before(until: NaiveDate, latitude_deg: f64) -> Option<NaiveDate> {
    let (month, day) = EQUINOX[usize::from(latitude_deg < 0.0)];
    let years = [until.year(), until.year() - 1].into_iter();
    let mut equinoxes = years.filter_map(|year| NaiveDate::from_ymd_opt(year, month, day));
    equinoxes.find(|equinox| *equinox <= until)
}

/// Days from the equinox to the solstice, after which a lake begins to warm: what little stratifies a column by then is the spring's, and no
/// longer what is left of the summer (project choice).
const TO_SOLSTICE_DAYS: i64 = 90;

/// What becomes of a column from a day on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SeasonEnd {
    /// It was mixed on the first day and no stratification came again, or its surface was the colder already, which comes after.
    AlreadyMixed,
    /// It turned over.
    TurnedOver {
        /// First mixed day.
        day: NaiveDate,
        /// Temperature under the skin on that day.
        top_degc: f64,
    },
    /// It did not by the last day.
    NotTurnedOver,
}

/// How a season ends for a column whose days from the clock on these are, by the rule of density, and by that of 1 degC. Days after
/// `last` tell whether the water stays mixed, and are no turnover. A mixing counts from the day of the greatest stability before `autumn` on; what
/// mixes after it and is stratified again in the winter has turned over. A column that begins after the solstice with less than twice the limit
/// was mixed already, whatever the spring makes of it. `None` without days.
pub fn season_end(days: &[MixDay], (autumn, last): (NaiveDate, NaiveDate)) -> Option<(SeasonEnd, SeasonEnd)> {
    let first = days.first()?;
    // A colder surface is not what turns over.
    let summer = days.iter().filter(|d| d.is_warm_above() && d.day <= autumn);
    let summer: Vec<MixDay> = summer.copied().collect();
    let peak = most_stable(&summer).filter(|peak| peak.difference_kg_m3 >= STRATIFIED_KG_M3);
    let winter = autumn + Duration::days(TO_SOLSTICE_DAYS);
    let is_over = |d: &MixDay| d.difference_kg_m3 < STRATIFIED_KG_M3 || !d.is_warm_above();
    if first.day >= winter && is_over(first) {
        return Some((SeasonEnd::AlreadyMixed, SeasonEnd::AlreadyMixed));
    }
    let ends = |mixed: fn(&MixDay) -> bool| {
        let start = peak.map_or(0, |peak| days.partition_point(|d| d.day <= peak.day));
        let from = peak.map_or(first.day, |peak| peak.day);
        // Past the turnover: below 4 degC the surface is colder than the bottom, by whichever rule.
        let over = |d: &MixDay| mixed(d) || !d.is_warm_above();
        match first_staying(days, (start, from), over) {
            Some(0) => SeasonEnd::AlreadyMixed,
            Some(at) if days[at].day <= last => SeasonEnd::TurnedOver {
                day: days[at].day,
                top_degc: days[at].top_degc,
            },
            _ => SeasonEnd::NotTurnedOver,
        }
    };
    Some((ends(MixDay::is_mixed), ends(MixDay::is_alike)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Days from 1 October on with these surfaces over 5 degC.
    fn days(top_degc: &[f64]) -> Vec<MixDay> {
        let first = NaiveDate::from_ymd_opt(2025, 10, 1).unwrap();
        let of = |(day, top): (NaiveDate, &f64)| {
            MixDay::of(day, &[0.0, 2.0, 10.0, 20.0], &[*top, *top, 5.0, 5.0]).unwrap()
        };
        first.iter_days().zip(top_degc).map(of).collect()
    }

    fn on(day: u64) -> NaiveDate {
        NaiveDate::from_ymd_opt(2025, 10, 1).unwrap() + chrono::Days::new(day)
    }

    /// The equinox, before all these days.
    fn autumn() -> NaiveDate {
        autumn_before(on(59), 45.0).unwrap()
    }

    /// A quarter of a degree less a day from 15 degC on.
    fn cooling(count: usize) -> Vec<f64> {
        (0..count).map(|i| (15.0 - 0.25 * i as f64).max(5.0)).collect()
    }

    #[test]
    fn a_cooling_column_turns_over_on_the_day_of_even_density() {
        let (by_density, by_degree) = season_end(&days(&cooling(60)), (autumn(), on(59))).unwrap();
        let SeasonEnd::TurnedOver { day, top_degc } = by_density else {
            panic!("{by_density:?}");
        };
        // Rows P5-DT-4 and P5-DT-6: 0.1 kg/m3 is 3.58 degC over 4 and 2.13 over 6, so between 7.13 and 8.58 here.
        assert!((7.13..8.58).contains(&top_degc), "{top_degc}");
        // And by hand: (15 - top) / 0.25 days on.
        assert_eq!(
            (day - on(0)).num_days() as f64,
            ((15.0 - top_degc) / 0.25).round()
        );
        // The first surface less than 1 degC over 5 is 5.75, 37 days on.
        assert_eq!(
            by_degree,
            SeasonEnd::TurnedOver {
                day: on(37),
                top_degc: 5.75
            }
        );
    }

    #[test]
    fn a_mixed_column_is_mixed_already_and_a_winter_one_too() {
        let mixed = season_end(&days(&[5.2; 30]), (autumn(), on(29))).unwrap();
        assert_eq!(mixed.0, SeasonEnd::AlreadyMixed);
        // 0 over 5 degC: lighter above, as after the turnover.
        let winter = season_end(&days(&[0.0; 30]), (autumn(), on(29))).unwrap();
        assert_eq!(winter, (SeasonEnd::AlreadyMixed, SeasonEnd::AlreadyMixed));
    }

    #[test]
    fn a_mixed_column_that_the_spring_warms_has_turned_over_before() {
        // 0.6 degC a day from 5.2 degC on: past 7.9, where 0.1 kg/m3 lies by the rows above, on the fifth day, and stratified for good.
        let warming: Vec<f64> = (0..30).map(|i| 5.2 + 0.6 * f64::from(i)).collect();
        let of = |autumn: NaiveDate| season_end(&days(&warming), (autumn, on(29))).unwrap();
        // Begun 90 days after the equinox, and a day sooner.
        let equinox = |ago: u64| on(0) - chrono::Days::new(ago);
        assert_eq!(of(equinox(90)).0, SeasonEnd::AlreadyMixed);
        assert_ne!(of(equinox(89)).0, SeasonEnd::AlreadyMixed);
        // What is left of the summer in a deep lake is no spring: 12 over 5 degC is 0.47 kg/m3 (999.50 and 999.97, Tanaka et al. 2001, from memory).
        let late = season_end(&days(&[12.0; 30]), (equinox(100), on(29))).unwrap();
        assert_eq!(late.0, SeasonEnd::NotTurnedOver);
    }

    #[test]
    fn a_column_that_stays_stratified_or_mixes_after_the_end_did_not_turn_over() {
        assert_eq!(
            season_end(&days(&[14.0; 40]), (autumn(), on(39))).unwrap().0,
            SeasonEnd::NotTurnedOver
        );
        assert_eq!(
            season_end(&days(&cooling(60)), (autumn(), on(20))).unwrap().0,
            SeasonEnd::NotTurnedOver
        );
        assert_eq!(season_end(&[], (autumn(), on(20))), None);
    }

    #[test]
    fn a_mixed_spell_before_the_summer_is_over_is_no_turnover() {
        let mut top_degc = vec![5.2; 12];
        top_degc.extend(cooling(60));
        let SeasonEnd::TurnedOver { day, .. } = season_end(&days(&top_degc), (on(40), on(71))).unwrap().0
        else {
            panic!("it turned over in the end");
        };
        assert!(day > on(30), "{day}");
    }

    #[test]
    fn what_has_turned_over_stays_so_whatever_stratifies_it_in_the_winter() {
        // Mixed for a fortnight in autumn, then a warm spell or a cold river beneath it for the rest.
        let mut top_degc = cooling(45);
        top_degc.extend([12.0; 40]);
        let found = season_end(&days(&top_degc), (autumn(), on(84))).unwrap().0;
        assert!(
            matches!(found, SeasonEnd::TurnedOver { day, .. } if day < on(40)),
            "{found:?}"
        );
        let mut top_degc = vec![5.2; 15];
        top_degc.extend([12.0; 40]);
        let found = season_end(&days(&top_degc), (autumn(), on(54))).unwrap().0;
        assert_eq!(found, SeasonEnd::AlreadyMixed);
    }

    #[test]
    fn a_record_that_ends_stratified_knows_its_last_day_and_ice_has_none() {
        let cold = days(&cooling(20));
        // Surfaces of 6 degC and more above the bottom: row P5-DT-6 has 0.1 kg/m3 at 2.1 degC apart over 6 degC.
        assert_eq!(mixing_after(&cold, &cold[0]), None);
        assert_eq!(last_layered(&cold, &cold[0]), Some(cold[19].day));
        // A profile under ice, 0 degC over the bottom: denser below, but not as in summer.
        let mut ice = days(&[15.0]);
        ice.push(MixDay {
            day: on(60),
            ..days(&[0.0])[0]
        });
        assert!(!ice[1].is_mixed());
        assert_eq!(last_layered(&ice, &ice[0]), Some(ice[0].day));
        let mixed = days(&[5.0; 3]);
        assert_eq!(last_layered(&mixed, &mixed[0]), None);
        // By hand: of the days 1 to 10 after the first the fifth is the middle.
        let between = |days| Mixing {
            last_stratified: on(0),
            first_mixed: on(days),
        };
        assert_eq!(between(10).date(), Some(on(5)));
        assert_eq!((between(11).gap_days(), between(11).date()), (11, None));
    }

    #[test]
    fn autumn_begins_with_the_equinox_before_the_end_of_the_season() {
        let day = |year, month, day| NaiveDate::from_ymd_opt(year, month, day).unwrap();
        assert_eq!(autumn_before(day(2026, 2, 28), 42.0), Some(day(2025, 9, 23)));
        assert_eq!(autumn_before(day(2025, 12, 31), 42.0), Some(day(2025, 9, 23)));
        assert_eq!(autumn_before(day(2026, 8, 31), -38.0), Some(day(2026, 3, 21)));
    }
}
