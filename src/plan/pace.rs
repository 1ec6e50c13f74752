//! How fast the boat is run at which hour: slowly in the dark and where wood floats, and not at all in the dark where both may be.
//!
//! That a boat goes slowly where nobody sees what floats or stands in its way is the rule of the road at sea (a speed at which it can be
//! stopped in time, from memory); how slowly is the user's to say, and common practice where the lake file does not.

use chrono::{DateTime, Duration, Utc};
use serde::{Deserialize, Serialize};

use super::{Caution, CautionLevel, Hazard};
use crate::conditions::{LightCondition, TripWindow};
use crate::lake::{Boat, practice};

/// The pace of the runs of one trip.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RunPace {
    /// When the boat leaves the ramp.
    pub leave_at: DateTime<Utc>,
    /// Whether it waits for civil dawn, since wood may float and nobody would see it.
    pub waits_for_dawn: bool,
    /// When it is to be back: the end of the trip, or civil dusk where there is not to be run in the dark. Before `leave_at`, and so
    /// without an hour to fish, where dawn or dusk is not known then.
    pub home_by: DateTime<Utc>,
    /// Civil dawn, before which runs are slow; `None` where it is not known, and then every run is.
    pub light_from: Option<DateTime<Utc>>,
    /// Civil dusk, after which runs are slow; `None` where it is not known, and then every run is.
    pub light_to: Option<DateTime<Utc>>,
    /// Whether runs are slow by day too, since wood floats.
    pub slow_by_day: bool,
    /// Speed in the light.
    pub run_speed_m_s: f64,
    /// Speed in the dark and among floating wood.
    pub slow_speed_m_s: f64,
    /// Whether the slow speed is common practice, for want of the user's.
    pub slow_speed_assumed: bool,
}

impl RunPace {
    /// The pace for a trip under these cautions.
    ///
    /// Debris: "slow, lookout, no night running" (series-and-skill.md 8). A caution of debris that cannot be judged forbids the run in
    /// the dark as well, and does not slow the one by day.
    pub fn new(
        boat: Boat,
        trip: &TripWindow,
        light: Option<&LightCondition>,
        cautions: &[Caution],
    ) -> RunPace {
        let debris = cautions
            .iter()
            .filter(|c| c.hazard == Hazard::Debris)
            .map(|c| c.level);
        let worst = debris.max();
        let (light_from, light_to) = (light.and_then(|l| l.civil_dawn), light.and_then(|l| l.civil_dusk));
        let no_night_running = worst.is_some_and(|level| level >= CautionLevel::NotKnown);
        // Where it is not known when it gets light or dark, there is no hour that is surely light.
        let light = light_from.zip(light_to);
        let (leave_at, home_by) = match (no_night_running, light) {
            (false, _) => (trip.from, trip.to),
            (true, Some((dawn, dusk))) => (trip.from.max(dawn), trip.to.min(dusk)),
            (true, None) => (trip.to, trip.from),
        };
        let own_m_s = boat.slow_speed_m_s;
        RunPace {
            leave_at,
            waits_for_dawn: leave_at > trip.from,
            home_by,
            light_from,
            light_to,
            slow_by_day: worst.is_some_and(|level| level >= CautionLevel::Caution),
            run_speed_m_s: boat.run_speed_m_s,
            slow_speed_m_s: own_m_s
                .unwrap_or_else(|| practice().slow_speed_m_s())
                .min(boat.run_speed_m_s),
            slow_speed_assumed: own_m_s.is_none(),
        }
    }

    /// Hours that a run of `distance_m` takes which begins at `start`.
    pub fn hours_from(&self, start: DateTime<Utc>, distance_m: f64) -> f64 {
        let mut run = Running {
            left_m: distance_m,
            spent_h: 0.0,
        };
        let mut now = start;
        for turn in self.turns().into_iter().filter(|t| *t > start) {
            if run.goes_on(self.speed_m_s(now), hours_between(now, turn)) {
                return run.spent_h;
            }
            now = turn;
        }
        run.goes_on(self.speed_m_s(now), f64::INFINITY);
        run.spent_h
    }

    /// Hours that a run of `distance_m` takes which ends at `end`.
    pub fn hours_until(&self, end: DateTime<Utc>, distance_m: f64) -> f64 {
        let mut run = Running {
            left_m: distance_m,
            spent_h: 0.0,
        };
        let mut now = end;
        for turn in self.turns().into_iter().rev().filter(|t| *t < end) {
            // The speed of the stretch that lies before `now`.
            if run.goes_on(self.speed_m_s(turn), hours_between(turn, now)) {
                return run.spent_h;
            }
            now = turn;
        }
        let before = now - Duration::seconds(1);
        run.goes_on(self.speed_m_s(before), f64::INFINITY);
        run.spent_h
    }

    /// Hours from leaving the ramp.
    pub fn out_h(&self, distance_m: f64) -> f64 {
        self.hours_from(self.leave_at, distance_m)
    }

    /// Until when a run out that takes `run_h` is slow for want of light; `None` where it never is.
    pub fn slow_until(&self, run_h: f64) -> Option<DateTime<Utc>> {
        let arrives = self.leave_at + Duration::seconds((run_h * 3600.0) as i64);
        let dark = self.light_from.is_none_or(|dawn| self.leave_at < dawn);
        dark.then(|| self.light_from.map_or(arrives, |dawn| dawn.min(arrives)))
    }

    fn turns(&self) -> Vec<DateTime<Utc>> {
        let mut turns: Vec<DateTime<Utc>> = [self.light_from, self.light_to].into_iter().flatten().collect();
        turns.sort();
        turns
    }

    fn speed_m_s(&self, at: DateTime<Utc>) -> f64 {
        let light = match (self.light_from, self.light_to) {
            (Some(from), Some(to)) => at >= from && at < to,
            _ => false,
        };
        if light && !self.slow_by_day {
            self.run_speed_m_s
        } else {
            self.slow_speed_m_s
        }
    }
}

/// A run under way.
struct Running {
    left_m: f64,
    spent_h: f64,
}

impl Running {
    /// Runs on at a speed for at most so long; says whether it has arrived.
    fn goes_on(&mut self, speed_m_s: f64, at_most_h: f64) -> bool {
        let needed_h = self.left_m / speed_m_s / 3600.0;
        let arrives = needed_h <= at_most_h;
        let run_h = needed_h.min(at_most_h);
        self.spent_h += run_h;
        self.left_m -= run_h * 3600.0 * speed_m_s;
        arrives
    }
}

fn hours_between(from: DateTime<Utc>, to: DateTime<Utc>) -> f64 {
    (to - from).num_seconds() as f64 / 3600.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::conditions::trip_window;
    use crate::plan::cautions::morning_tests::Morning;

    const DARK_H: f64 = 0.5;

    /// A trip that begins half an hour before civil dawn, for a boat of 36 km/h, 9 km/h slow.
    fn pace(debris: Option<CautionLevel>, slow_speed_m_s: Option<f64>) -> (RunPace, TripWindow) {
        let mut morning = Morning::calm();
        let dawn = morning.light().civil_dawn.unwrap();
        morning.as_of = dawn - Duration::minutes((DARK_H * 60.0) as i64);
        let mut boat = morning.lake.boat.unwrap();
        boat.run_speed_m_s = 10.0;
        boat.slow_speed_m_s = slow_speed_m_s;
        let trip = trip_window(&morning.lake, morning.as_of);
        assert_eq!(trip.from, morning.as_of);
        let mut debris_caution = morning.caution(Hazard::Darkness).unwrap();
        debris_caution.hazard = Hazard::Debris;
        let cautions: Vec<Caution> = debris
            .map(|level| Caution {
                level,
                ..debris_caution
            })
            .into_iter()
            .collect();
        let light = morning.conditions.light;
        (RunPace::new(boat, &trip, light.as_ref(), &cautions), trip)
    }

    #[test]
    fn a_run_is_slow_until_civil_dawn_and_fast_after_it() {
        let (pace, trip) = pace(None, Some(2.5));
        assert_eq!((pace.leave_at, pace.waits_for_dawn), (trip.from, false));
        // Half an hour at 9 km/h is 4.5 km; the other 18 km take half an hour at 36 km/h.
        assert!((pace.out_h(22_500.0) - 1.0).abs() < 1e-9);
        assert!((pace.out_h(2_250.0) - 0.25).abs() < 1e-9);
        assert_eq!(pace.slow_until(1.0), pace.light_from);
        assert_eq!(pace.slow_until(0.25), Some(trip.from + Duration::minutes(15)));
        let by_day = pace.light_from.unwrap() + Duration::hours(1);
        assert!((pace.hours_from(by_day, 36_000.0) - 1.0).abs() < 1e-9);
    }

    #[test]
    fn a_run_home_that_reaches_into_the_dusk_is_slow_at_its_end() {
        let (pace, _) = pace(None, Some(2.5));
        let end = pace.light_to.unwrap() + Duration::minutes(30);
        assert!((pace.hours_until(end, 22_500.0) - 1.0).abs() < 1e-9);
        assert!((pace.hours_until(end - Duration::hours(2), 36_000.0) - 1.0).abs() < 1e-9);
        // From one end to the other and back is the same run.
        let start = end - Duration::hours(1);
        assert!((pace.hours_from(start, 22_500.0) - 1.0).abs() < 1e-9);
    }

    #[test]
    fn among_floating_wood_the_boat_waits_for_dawn_and_goes_slowly_by_day() {
        let (found, _) = pace(Some(CautionLevel::Caution), Some(2.5));
        assert_eq!(Some(found.leave_at), found.light_from);
        assert!(found.waits_for_dawn && found.slow_by_day);
        assert!((found.out_h(9_000.0) - 1.0).abs() < 1e-9);
        assert_eq!(found.slow_until(1.0), None, "it is light");
        // Whether wood floats is not known: no run in the dark, and the usual one by day.
        let (not_known, _) = pace(Some(CautionLevel::NotKnown), Some(2.5));
        assert!(not_known.waits_for_dawn && !not_known.slow_by_day);
        assert!((not_known.out_h(36_000.0) - 1.0).abs() < 1e-9);
    }

    #[test]
    fn where_the_light_is_not_known_every_run_is_slow_and_among_driftwood_there_is_none() {
        let (calm, trip) = pace(None, Some(2.5));
        let mut boat = Morning::calm().lake.boat.unwrap();
        (boat.run_speed_m_s, boat.slow_speed_m_s) = (10.0, Some(2.5));
        let found = RunPace::new(boat, &trip, None, &[]);
        assert_eq!((found.leave_at, found.home_by), (calm.leave_at, calm.home_by));
        assert!((found.out_h(36_000.0) - 4.0).abs() < 1e-9);
        assert!((found.hours_until(trip.to, 36_000.0) - 4.0).abs() < 1e-9);
        let mut debris = Morning::calm().cautions().remove(0);
        (debris.hazard, debris.level) = (Hazard::Debris, CautionLevel::NotKnown);
        let found = RunPace::new(boat, &trip, None, &[debris]);
        assert!(found.waits_for_dawn && found.home_by < found.leave_at);
    }

    #[test]
    fn among_driftwood_the_boat_is_back_by_civil_dusk() {
        let (calm, mut trip) = pace(None, None);
        trip.to = calm.light_to.unwrap() + Duration::hours(2);
        let mut morning = Morning::calm();
        let boat = morning.lake.boat.unwrap();
        let light = Some(*morning.light());
        let mut debris = Morning::calm().cautions().remove(0);
        (debris.hazard, debris.level) = (Hazard::Debris, CautionLevel::Caution);
        let home_by = |cautions: &[Caution]| RunPace::new(boat, &trip, light.as_ref(), cautions).home_by;
        assert_eq!(home_by(&[]), trip.to);
        assert_eq!(Some(home_by(&[debris])), calm.light_to);
    }

    #[test]
    fn without_a_slow_speed_of_the_user_practice_stands_in_and_never_beyond_the_boats_own() {
        let (found, _) = pace(None, None);
        assert!(found.slow_speed_assumed);
        // config/ladder.toml: 6 mph (common practice, no source); 0.44704 m/s a mile an hour.
        assert!((found.slow_speed_m_s - 2.682_24).abs() < 1e-9);
        let (own, _) = pace(None, Some(12.0));
        assert_eq!((own.slow_speed_m_s, own.slow_speed_assumed), (10.0, false));
    }
}
