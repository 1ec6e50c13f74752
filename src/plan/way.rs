//! Ways over the water: along the thalwegs, from an arm through its mouth into the main body and up another arm.
//!
//! A place beside a thalweg is reached from the nearest point of it in a straight line. How deep the water is off the thalweg
//! the lake file does not tell.

use serde::{Deserialize, Serialize};

use super::level::{JudgedLevel, judged_level};
use crate::conditions::Conditions;
use crate::lake::{Hazard, HazardKind, Lake, ThalwegPoint, Zone, ZoneId, ZoneKind, distance_m};

/// A place by the thalweg of its zone.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Spot {
    zone: ZoneId,
    /// Distance of the nearest point of the thalweg from the zone's mouth (of the main body: from the dam).
    at_m: f64,
    /// Straight way from there.
    off_m: f64,
}

/// A way that a boat can take today.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Way {
    /// Its length.
    pub distance_m: f64,
    /// Least water over the thalweg along it.
    pub shallowest_m: f64,
    /// Rocks and stumps beside it, as far as the lake file gives their position, that stand out or have too little water over them
    /// for the boat.
    pub past: Vec<String>,
}

/// Why there is no way, or none that is known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum NoWay {
    /// The lake file gives the place no position.
    NoPosition,
    /// The thalweg of this zone has no positions.
    NoThalweg {
        /// Zone.
        zone: ZoneId,
    },
    /// No level in time.
    NoLevel,
    /// The lake file has no boat.
    NoBoat,
    /// The ramp is out of use.
    RampOut,
    /// Too little water for the boat at a place of the way: a dry saddle, or the head of an arm.
    TooShallow {
        /// Zone of that place.
        zone: ZoneId,
        /// Its distance from the zone's mouth (of the main body: from the dam).
        at_m: f64,
        /// Water over the thalweg there; negative where it is dry.
        water_m: f64,
    },
    /// A saddle of the lake file that lies across the way has too little water over it for the boat.
    Saddle {
        /// Its name.
        name: String,
        /// Water over it; negative where it is dry.
        water_m: f64,
    },
}

/// The ways of a lake at today's level.
pub(super) struct Ways<'a> {
    lake: &'a Lake,
    level: Option<JudgedLevel>,
}

impl<'a> Ways<'a> {
    pub fn new(lake: &'a Lake, conditions: &Conditions) -> Ways<'a> {
        Ways {
            lake,
            level: judged_level(lake, conditions),
        }
    }

    /// The level that ways are judged by: that of a late one as low as it may be.
    pub fn level(&self) -> Option<JudgedLevel> {
        self.level
    }

    /// The place of `position` in `zone`.
    pub fn spot(&self, zone: &ZoneId, position: Option<(f64, f64)>) -> Result<Spot, NoWay> {
        let position = position.ok_or(NoWay::NoPosition)?;
        let (at_m, nearest) = nearest(self.course(zone)?, position);
        Ok(Spot {
            zone: zone.clone(),
            at_m,
            off_m: distance_m(position, nearest),
        })
    }

    /// The mouth of an arm; of the main body the dam.
    pub fn mouth(&self, zone: &ZoneId) -> Result<Spot, NoWay> {
        let first = self.course(zone)?.first();
        self.spot(zone, first.and_then(|p| p.position))
    }

    /// The way from one place to another for a boat that draws `draft_m`.
    pub fn between(&self, from: &Spot, to: &Spot, draft_m: f64) -> Result<Way, NoWay> {
        let level_m = self.level.ok_or(NoWay::NoLevel)?.lowest_m;
        let mut way = Way {
            distance_m: from.off_m + to.off_m,
            shallowest_m: f64::INFINITY,
            past: Vec::new(),
        };
        for (zone, from_m, to_m, off_m) in self.legs(from, to)? {
            way.distance_m += (to_m - from_m).abs() + off_m;
            let (at_m, bed_m) = highest_bed(self.course(&zone)?, from_m, to_m);
            let water_m = level_m - bed_m;
            if water_m < draft_m {
                return Err(NoWay::TooShallow { zone, at_m, water_m });
            }
            way.shallowest_m = way.shallowest_m.min(water_m);
            for (hazard, water_m) in self.shallow_beside(&zone, (from_m, to_m), level_m, draft_m)? {
                let name = hazard.name.clone();
                match hazard.kind {
                    HazardKind::Saddle => return Err(NoWay::Saddle { name, water_m }),
                    HazardKind::Rock | HazardKind::Stumps => way.past.push(name),
                }
            }
        }
        Ok(way)
    }

    /// Hazards within half of the thalweg's width of its piece between two distances that have too little water over them, with
    /// that water. Those without a position are not among them: where in their zone they lie is not known.
    fn shallow_beside(
        &self,
        zone: &ZoneId,
        (from_m, to_m): (f64, f64),
        level_m: f64,
        draft_m: f64,
    ) -> Result<Vec<(&'a Hazard, f64)>, NoWay> {
        let course = self.course(zone)?;
        let (low_m, high_m) = (from_m.min(to_m), from_m.max(to_m));
        let beside = |hazard: &&Hazard| {
            hazard.position.is_some_and(|position| {
                let (at_m, nearest) = nearest(course, position);
                let off_m = distance_m(position, nearest);
                (low_m..=high_m).contains(&at_m) && off_m <= 0.5 * width_m(course, at_m)
            })
        };
        let own = self.lake.hazards.iter().filter(|h| &h.zone == zone);
        Ok(own
            .filter(beside)
            .map(|h| (h, level_m - h.top_elevation_m))
            .filter(|(_, water_m)| *water_m < draft_m)
            .collect())
    }

    /// Whether water is known to be gone from about a shoal: a saddle that stands out of it is shore, and so is what lies by a piece of thalweg
    /// that is dry. Behind a late level the pool may have risen, and nothing is known to be.
    pub fn stands_on_land(&self, shoal: &Hazard) -> bool {
        let Some(level) = self.level.filter(|level| !level.late) else {
            return false;
        };
        if shoal.kind == HazardKind::Saddle && shoal.top_elevation_m > level.newest_m {
            return true;
        }
        let Some((position, course)) = shoal.position.zip(self.course(&shoal.zone).ok()) else {
            return false;
        };
        let (at_m, _) = nearest(course, position);
        at(course, at_m, |p| p.bed_elevation_m) >= level.newest_m
    }

    /// Pieces of thalweg between two places: zone, its two ends, and the way from its mouth to the main body's thalweg
    /// where that is gone.
    fn legs(&self, from: &Spot, to: &Spot) -> Result<Vec<(ZoneId, f64, f64, f64)>, NoWay> {
        if from.zone == to.zone {
            return Ok(vec![(from.zone.clone(), from.at_m, to.at_m, 0.0)]);
        }
        let main = &self.lake.main_body().id;
        let mut legs = Vec::new();
        let mut ends_m = [0.0; 2];
        for (end_m, spot) in ends_m.iter_mut().zip([from, to]) {
            *end_m = if &spot.zone == main {
                spot.at_m
            } else {
                let mouth = self.course(&spot.zone)?.first().and_then(|p| p.position);
                let join = self.spot(main, mouth)?;
                legs.push((spot.zone.clone(), spot.at_m, 0.0, join.off_m));
                join.at_m
            };
        }
        legs.push((main.clone(), ends_m[0], ends_m[1], 0.0));
        Ok(legs)
    }

    /// The thalweg of a zone with positions.
    fn course(&self, zone: &ZoneId) -> Result<&'a [ThalwegPoint], NoWay> {
        let described = self.lake.zone(zone).filter(is_pool);
        described
            .map(|zone| zone.thalweg.as_slice())
            .filter(|points| points.len() > 1 && points.iter().all(|p| p.position.is_some()))
            .ok_or_else(|| NoWay::NoThalweg { zone: zone.clone() })
    }
}

fn is_pool(zone: &&Zone) -> bool {
    zone.kind != ZoneKind::River
}

/// Distance along a thalweg, and position, of its point that is nearest to `place`.
fn nearest(points: &[ThalwegPoint], place: (f64, f64)) -> (f64, (f64, f64)) {
    // A degree of longitude is shorter than one of latitude by the cosine; over one lake that is one number.
    let shrink = place.0.to_radians().cos();
    let mut best: Option<(f64, f64, (f64, f64))> = None;
    for pair in points.windows(2) {
        let (Some(a), Some(b)) = (pair[0].position, pair[1].position) else {
            continue;
        };
        let (along, off) = (
            (b.0 - a.0, (b.1 - a.1) * shrink),
            (place.0 - a.0, (place.1 - a.1) * shrink),
        );
        let length = along.0 * along.0 + along.1 * along.1;
        let part_frac = if length > 0.0 {
            ((off.0 * along.0 + off.1 * along.1) / length).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let point = (a.0 + part_frac * (b.0 - a.0), a.1 + part_frac * (b.1 - a.1));
        let at_m = pair[0].distance_m + part_frac * (pair[1].distance_m - pair[0].distance_m);
        let away_m = distance_m(place, point);
        if best.is_none_or(|(nearest_m, ..)| away_m < nearest_m) {
            best = Some((away_m, at_m, point));
        }
    }
    best.map_or((0.0, place), |(_, at_m, point)| (at_m, point))
}

/// A number of a thalweg's points at a distance along it, straight between them.
fn at(points: &[ThalwegPoint], at_m: f64, of: impl Fn(&ThalwegPoint) -> f64) -> f64 {
    let after = points
        .partition_point(|p| p.distance_m <= at_m)
        .clamp(1, points.len() - 1);
    let (p, q) = (&points[after - 1], &points[after]);
    let part_frac = ((at_m - p.distance_m) / (q.distance_m - p.distance_m)).clamp(0.0, 1.0);
    of(p) + part_frac * (of(q) - of(p))
}

/// Width of the water at full pool at a distance along a thalweg.
fn width_m(points: &[ThalwegPoint], at_m: f64) -> f64 {
    at(points, at_m, |p| p.width_m)
}

/// The highest bed between two distances along a thalweg, and where it is; straight between points.
fn highest_bed(points: &[ThalwegPoint], from_m: f64, to_m: f64) -> (f64, f64) {
    let (low_m, high_m) = (from_m.min(to_m), from_m.max(to_m));
    let bed_m = |at_m: f64| at(points, at_m, |p| p.bed_elevation_m);
    let between = points
        .iter()
        .filter(|p| p.distance_m > low_m && p.distance_m < high_m)
        .map(|p| (p.distance_m, p.bed_elevation_m));
    let ends = [low_m, high_m].map(|at_m| (at_m, bed_m(at_m)));
    between
        .chain(ends)
        .fold((low_m, f64::NEG_INFINITY), |highest, at| {
            if at.1 > highest.1 { at } else { highest }
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::cautions::morning_tests::Morning;

    /// A main body of 10 km along a meridian with an arm of 6 km to the east whose mouth is at its middle, its bed rising
    /// from 230 to 245 m, with a bar of 240 m at 2 km.
    fn morning(level_m: f64) -> Morning {
        let mut morning = Morning::calm();
        // A degree of latitude on the sphere of `distance_m` is 111.195 km.
        let north = |km: f64| 42.0 + km / 111.195;
        let east = |km: f64| -119.0 + km / (111.195 * north(5.0).to_radians().cos());
        let point = |km: f64, bed_elevation_m: f64, position| ThalwegPoint {
            distance_m: 1000.0 * km,
            bed_elevation_m,
            width_m: 500.0,
            position: Some(position),
        };
        morning.lake.zones[0].thalweg = [0.0, 5.0, 10.0]
            .map(|km| point(km, 200.0, (north(km), -119.0)))
            .to_vec();
        morning.lake.zones[1].thalweg = [(0.0, 230.0), (2.0, 240.0), (4.0, 235.0), (6.0, 245.0)]
            .map(|(km, bed_m)| point(km, bed_m, (north(5.0), east(km))))
            .to_vec();
        morning.set_level(level_m);
        morning
    }

    fn way(morning: &Morning, from: (&str, (f64, f64)), to: (&str, (f64, f64))) -> Result<Way, NoWay> {
        let ways = Ways::new(&morning.lake, &morning.conditions);
        let spot = |(zone, at): (&str, _)| ways.spot(&ZoneId::new(zone), Some(at));
        ways.between(&spot(from)?, &spot(to)?, 1.0)
    }

    const DAM: (f64, f64) = (42.0, -119.0);

    #[test]
    fn a_way_follows_the_thalweg_round_the_corner_of_an_arms_mouth() {
        let morning = morning(260.0);
        let arm = morning.lake.zones[1].thalweg[2].position.unwrap();
        let found = way(&morning, ("main", DAM), ("sorrel", arm)).unwrap();
        // 5 km up the main body and 4 km up the arm; the straight line would be 6.4 km.
        assert!((found.distance_m - 9000.0).abs() < 5.0, "{found:?}");
        assert!(
            (found.shallowest_m - 20.0).abs() < 1e-6,
            "the bar at 240 m under 260 m"
        );
        let back = way(&morning, ("sorrel", arm), ("main", DAM)).unwrap();
        assert!((found.distance_m - back.distance_m).abs() < 1e-6);
    }

    #[test]
    fn a_place_off_the_thalweg_adds_the_straight_way_to_it() {
        let morning = morning(260.0);
        let off = (
            42.0 + 5.0 / 111.195,
            -119.0 - 1.0 / (111.195 * 42.045_f64.to_radians().cos()),
        );
        let found = way(&morning, ("main", DAM), ("main", off)).unwrap();
        assert!((found.distance_m - 6000.0).abs() < 5.0, "{found:?}");
    }

    #[test]
    fn a_bar_that_dries_closes_the_way_beyond_it_and_not_before_it() {
        let morning = morning(240.5);
        let thalweg = &morning.lake.zones[1].thalweg;
        let (before, beyond) = ((42.0 + 5.0 / 111.195, -118.99), thalweg[2].position.unwrap());
        assert!(way(&morning, ("main", DAM), ("sorrel", before)).is_ok());
        let closed = way(&morning, ("main", DAM), ("sorrel", beyond)).unwrap_err();
        let NoWay::TooShallow { zone, at_m, water_m } = closed else {
            panic!("{closed:?}");
        };
        assert_eq!((zone.as_str(), at_m), ("sorrel", 2000.0));
        assert!((water_m - 0.5).abs() < 1e-9);
    }

    #[test]
    fn a_saddle_across_the_way_closes_it_and_a_rock_beside_it_is_named() {
        let mut morning = morning(260.0);
        let arm = morning.lake.zones[1].thalweg[2].position.unwrap();
        let across: (f64, f64) = (42.0 + 2.5 / 111.195, -119.0);
        // The thalweg is 500 m wide: 200 m to the side is beside the way, 300 m is not.
        let east = |m: f64| -119.0 + m / (111_195.0 * across.0.to_radians().cos());
        let hazard = |name: &str, kind, top_elevation_m, off_m| Hazard {
            id: name.to_owned(),
            name: name.to_owned(),
            zone: ZoneId::new("main"),
            kind,
            top_elevation_m,
            position: Some((across.0, east(off_m))),
        };
        let mut found = |hazards: Vec<Hazard>| {
            morning.lake.hazards = hazards;
            way(&morning, ("main", DAM), ("sorrel", arm)).map(|way| way.past)
        };
        // The boat draws 1 m.
        let rock = |top_m, off_m| vec![hazard("rock", HazardKind::Rock, top_m, off_m)];
        assert_eq!(found(rock(259.1, 200.0)), Ok(vec!["rock".to_owned()]));
        assert_eq!(found(rock(258.9, 200.0)), Ok(Vec::new()), "the boat clears it");
        assert_eq!(found(rock(259.1, 300.0)), Ok(Vec::new()));
        let saddle = |top_m, off_m| vec![hazard("saddle", HazardKind::Saddle, top_m, off_m)];
        let closed = found(saddle(261.0, 0.0)).unwrap_err();
        assert!(matches!(closed, NoWay::Saddle { ref name, water_m } if name == "saddle" && water_m == -1.0));
        assert_eq!(found(saddle(258.9, 0.0)), Ok(Vec::new()));
        assert_eq!(
            found(saddle(261.0, 300.0)),
            Ok(Vec::new()),
            "it lies beside the way"
        );
        let mut somewhere = saddle(261.0, 0.0);
        somewhere[0].position = None;
        assert_eq!(found(somewhere), Ok(Vec::new()), "where it lies is not known");
    }

    #[test]
    fn a_dry_saddle_and_stumps_by_a_dry_thalweg_stand_on_land_and_a_rock_in_deep_water_does_not() {
        let mut morning = morning(244.0);
        let ways = Ways::new(&morning.lake, &morning.conditions);
        let head = morning.lake.zones[1].thalweg[3].position;
        let mouth = morning.lake.zones[1].thalweg[0].position;
        let shoal = |kind, top_elevation_m, position| Hazard {
            id: "shoal".to_owned(),
            name: "shoal".to_owned(),
            zone: ZoneId::new("sorrel"),
            kind,
            top_elevation_m,
            position,
        };
        let on_land = |kind, top_m, position| ways.stands_on_land(&shoal(kind, top_m, position));
        let stumps = shoal(HazardKind::Stumps, 248.0, head);
        // The arm's bed is at 245 m at its head and 230 m at its mouth; the pool stands at 244 m.
        assert!(on_land(HazardKind::Stumps, 248.0, head) && !on_land(HazardKind::Stumps, 248.0, mouth));
        assert!(on_land(HazardKind::Saddle, 244.1, mouth) && !on_land(HazardKind::Saddle, 243.9, mouth));
        assert!(
            !on_land(HazardKind::Rock, 248.0, None),
            "where it lies is not known"
        );
        // Behind a late level the pool may have risen over them.
        morning.set_level_age_h(24.0);
        let late = Ways::new(&morning.lake, &morning.conditions);
        assert!(late.level().is_some_and(|level| level.late) && !late.stands_on_land(&stumps));
    }

    #[test]
    fn what_is_not_known_is_said() {
        let mut morning = morning(260.0);
        let ways = Ways::new(&morning.lake, &morning.conditions);
        assert_eq!(ways.spot(&ZoneId::new("main"), None), Err(NoWay::NoPosition));
        morning.lake.zones[1].thalweg[1].position = None;
        let zone = ZoneId::new("sorrel");
        let found = way(&morning, ("main", DAM), ("sorrel", DAM));
        assert_eq!(found, Err(NoWay::NoThalweg { zone }));
        morning.conditions.pool = None;
        assert_eq!(way(&morning, ("main", DAM), ("main", DAM)), Err(NoWay::NoLevel));
    }
}
