//! Open water upwind from the outlines of the pool; the file's table of fetch where they do not tell.

use super::model::{Lake, ThalwegPoint, Zone, ZoneKind};
use super::position::distance_m;

/// Directions of a table made from outlines, degrees apart: an arm 9 mi long and 0.4 wide is open over 3, and with fewer its length
/// would fall between two of them.
const STEP_DEG: usize = 3;
/// Metres in a degree of latitude on the sphere of `distance_m` (6371.009 km times pi / 180).
const M_PER_DEG: f64 = 111_195.08;
/// Gap between two zones' outlines that is water whatever zones they are: corners are written to four decimals of a degree, 11 m
/// of latitude, so that a line between them is off by up to half of that either way, and so is its neighbour.
const SLIVER_M: f64 = 15.0;
/// Gap between the main body's outline and an arm's that is taken for water wherever it is, where the file gives no position of
/// the arm's mouth (project choice: outlines are corners drawn by hand, to about half of that).
const DRAWN_WITHIN_M: f64 = 100.0;
/// How closely the end of the water up a falling arm is looked for.
const DRY_STEP_M: f64 = 50.0;

impl Lake {
    /// Open water upwind of a zone by direction, for the pool at `elevation_m`: from the outlines of the pool's zones, which follow the
    /// level; where they do not tell, the file's own table, which is one for all levels; empty where neither is there.
    ///
    /// From an outline: the longest way to the shore upwind of any wet point of the zone's thalweg, or of the middle of its outline
    /// where its points have no position; water goes on from one zone into the next. Outlines are of the full pool. Below it the
    /// water ends where the nearest point of a zone's thalweg is dry: an arm falls dry from its head. Across it keeps the width of
    /// the full pool, which is the longer: a length along the lake does not shrink with the level, and none here is shorter than
    /// the water. With `None` for the level it is that of the full pool.
    pub fn fetch_of(&self, zone: &Zone, elevation_m: Option<f64>) -> Vec<(f64, f64)> {
        let pools: Vec<Pool<'_>> = self
            .zones
            .iter()
            .filter(|z| z.kind != ZoneKind::River && z.outline.len() > 2)
            .map(|z| Pool::new(z, elevation_m))
            .collect();
        let inside = |point: &(f64, f64)| pools.iter().any(|pool| is_inside(pool.ring, *point));
        let on_thalweg = zone.thalweg.iter();
        let mut from: Vec<(f64, f64)> = on_thalweg.filter_map(|p| p.position).filter(inside).collect();
        if from.iter().any(|point| is_wet(&pools, *point)) {
            from.retain(|point| is_wet(&pools, *point));
        }
        if from.is_empty() {
            from.extend(middle(&zone.outline).filter(inside));
        }
        if from.is_empty() {
            return zone.fetch.clone();
        }
        (0..360)
            .step_by(STEP_DEG)
            .map(|deg| {
                let direction_deg = deg as f64;
                let longest_m = from
                    .iter()
                    .map(|point| open_water_m(&pools, *point, direction_deg))
                    .fold(0.0, f64::max);
                (direction_deg, longest_m)
            })
            .collect()
    }
}

/// A zone of standing water as it is drawn, and what of it is dry.
struct Pool<'a> {
    ring: &'a [(f64, f64)],
    /// Its thalweg where some of it is dry at the level asked for; else empty.
    partly_dry: &'a [ThalwegPoint],
    level_m: f64,
    is_main: bool,
    /// Position and width of an arm's mouth.
    mouth: Option<((f64, f64), f64)>,
}

impl<'a> Pool<'a> {
    fn new(zone: &'a Zone, elevation_m: Option<f64>) -> Pool<'a> {
        let level_m = elevation_m.unwrap_or(f64::INFINITY);
        let placed = zone.thalweg.len() > 1 && zone.thalweg.iter().all(|p| p.position.is_some());
        let dries = zone.thalweg.iter().any(|p| p.bed_elevation_m >= level_m);
        let mouth = zone.thalweg.first();
        Pool {
            ring: &zone.outline,
            partly_dry: if placed && dries { &zone.thalweg } else { &[] },
            level_m,
            is_main: zone.kind == ZoneKind::MainBody,
            mouth: mouth.and_then(|p| Some((p.position?, p.width_m))),
        }
    }

    /// Whether a place within the ring is under water: the bed of the nearest point of the thalweg is, the lowest thereabouts.
    fn is_wet(&self, place: (f64, f64)) -> bool {
        bed_by_thalweg_m(self.partly_dry, place).is_none_or(|bed_m| bed_m < self.level_m)
    }

    /// Whether a gap of so many metres between this arm and the main body is water.
    ///
    /// An arm opens into the main body at its mouth. Outlines end square to their own thalwegs, so that two that meet at an angle
    /// leave a wedge between them, no deeper than the mouth is wide.
    fn opens_at(&self, place: (f64, f64), gap_m: f64) -> bool {
        match self.mouth {
            Some((mouth, width_m)) => gap_m <= width_m && distance_m(mouth, place) <= width_m,
            None => gap_m <= DRAWN_WITHIN_M,
        }
    }
}

fn is_wet(pools: &[Pool<'_>], place: (f64, f64)) -> bool {
    pools
        .iter()
        .any(|pool| is_inside(pool.ring, place) && pool.is_wet(place))
}

/// Bed at the point of a thalweg that is nearest to `place`, straight between its points; `None` without positions.
fn bed_by_thalweg_m(points: &[ThalwegPoint], place: (f64, f64)) -> Option<f64> {
    let shrink = place.0.to_radians().cos();
    let off = |(lat, lon): (f64, f64)| ((lat - place.0), (lon - place.1) * shrink);
    let near = points.windows(2).filter_map(|pair| {
        let (a, b) = (off(pair[0].position?), off(pair[1].position?));
        let along = (b.0 - a.0, b.1 - a.1);
        let length = along.0 * along.0 + along.1 * along.1;
        let part_frac = if length > 0.0 {
            (-(a.0 * along.0 + a.1 * along.1) / length).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let point = (a.0 + part_frac * along.0, a.1 + part_frac * along.1);
        let rise_m = pair[1].bed_elevation_m - pair[0].bed_elevation_m;
        let bed_m = pair[0].bed_elevation_m + part_frac * rise_m;
        Some((point.0 * point.0 + point.1 * point.1, bed_m))
    });
    near.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, bed_m)| bed_m)
}

/// Middle of the corners of a ring.
fn middle(ring: &[(f64, f64)]) -> Option<(f64, f64)> {
    let count = ring.len() as f64;
    let sum = ring.iter().fold((0.0, 0.0), |(a, b), p| (a + p.0, b + p.1));
    (!ring.is_empty()).then(|| (sum.0 / count, sum.1 / count))
}

/// Whether a point lies inside a ring, by the number of sides that a line to the east of it crosses.
fn is_inside(ring: &[(f64, f64)], (lat, lon): (f64, f64)) -> bool {
    let mut inside = false;
    for (a, b) in sides(ring) {
        let crosses = (a.0 > lat) != (b.0 > lat) && lon < a.1 + (lat - a.0) / (b.0 - a.0) * (b.1 - a.1);
        inside ^= crosses;
    }
    inside
}

fn sides(ring: &[(f64, f64)]) -> impl Iterator<Item = ((f64, f64), (f64, f64))> + '_ {
    let next = ring.iter().cycle().skip(1);
    ring.iter().copied().zip(next.copied())
}

/// Way from a point over water to the shore in a direction.
///
/// The line is cut by all rings into pieces, each inside the same rings from end to end. It ends with the first piece that is in
/// none, unless that is a sliver between zones or the mouth of an arm, or where the water of a piece ends.
fn open_water_m(pools: &[Pool<'_>], from: (f64, f64), direction_deg: f64) -> f64 {
    let cuts = cuts_m(pools, from, direction_deg);
    let shrink = from.0.to_radians().cos();
    let (east, north) = direction_deg.to_radians().sin_cos();
    let place = |along_m: f64| {
        (
            from.0 + along_m * north / M_PER_DEG,
            from.1 + along_m * east / (M_PER_DEG * shrink),
        )
    };
    let mut reached_m = 0.0;
    let mut last: Vec<&Pool<'_>> = Vec::new();
    for piece in cuts.windows(2) {
        let (begin_m, end_m) = (piece[0], piece[1]);
        let middle = place(0.5 * (begin_m + end_m));
        let own: Vec<&Pool<'_>> = pools.iter().filter(|p| is_inside(p.ring, middle)).collect();
        if own.is_empty() {
            continue;
        }
        let gap_m = begin_m - reached_m;
        if gap_m > 0.0 && !joined(&last, &own, place(0.5 * (reached_m + begin_m)), gap_m) {
            break;
        }
        if let Some(dry_m) = dry_from_m(&own, (begin_m, end_m), place) {
            return if dry_m > begin_m { dry_m } else { reached_m };
        }
        (reached_m, last) = (end_m, own);
    }
    reached_m
}

/// Where the line crosses the sides of the rings, its beginning first.
fn cuts_m(pools: &[Pool<'_>], from: (f64, f64), direction_deg: f64) -> Vec<f64> {
    let shrink = from.0.to_radians().cos();
    let plane = |(lat, lon): (f64, f64)| ((lon - from.1) * shrink * M_PER_DEG, (lat - from.0) * M_PER_DEG);
    let (east, north) = direction_deg.to_radians().sin_cos();
    let mut cuts: Vec<f64> = vec![0.0];
    for (a, b) in pools.iter().flat_map(|pool| sides(pool.ring)) {
        let ((ax, ay), (bx, by)) = (plane(a), plane(b));
        let (sx, sy) = (bx - ax, by - ay);
        let across = east * sy - north * sx;
        if across == 0.0 {
            continue;
        }
        let along_m = (ax * sy - ay * sx) / across;
        let part_frac = (ax * north - ay * east) / across;
        if along_m > 0.0 && (0.0..=1.0).contains(&part_frac) {
            cuts.push(along_m);
        }
    }
    cuts.sort_by(f64::total_cmp);
    cuts
}

/// Whether the gap between two pieces is water: a sliver between two zones, or the mouth of an arm, the main body on one side of
/// it and the arm on the other. A strip of land within one zone stays land.
fn joined(before: &[&Pool<'_>], after: &[&Pool<'_>], place: (f64, f64), gap_m: f64) -> bool {
    let pairs = before.iter().flat_map(|a| after.iter().map(move |b| (*a, *b)));
    let mut of_two_zones = pairs.filter(|(a, b)| !std::ptr::eq(*a, *b));
    of_two_zones.any(|(a, b)| {
        let opens =
            |main: &Pool<'_>, arm: &Pool<'_>| main.is_main && !arm.is_main && arm.opens_at(place, gap_m);
        gap_m <= SLIVER_M || opens(a, b) || opens(b, a)
    })
}

/// Where the water of a piece ends, looked for every [`DRY_STEP_M`]; `None` where it does not.
fn dry_from_m(
    own: &[&Pool<'_>],
    (begin_m, end_m): (f64, f64),
    place: impl Fn(f64) -> (f64, f64),
) -> Option<f64> {
    if own.iter().any(|pool| pool.partly_dry.is_empty()) {
        return None;
    }
    let steps = ((end_m - begin_m) / DRY_STEP_M).ceil() as usize;
    (0..=steps)
        .map(|step| (begin_m + step as f64 * DRY_STEP_M).min(end_m))
        .find(|at_m| !own.iter().any(|pool| pool.is_wet(place(*at_m))))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lake::ZoneId;

    /// Degrees of so many metres, near the equator where a degree is one length both ways.
    fn deg(length_m: f64) -> f64 {
        length_m / M_PER_DEG
    }

    /// A square of 2 km that begins so far to the east.
    fn square(west_m: f64) -> Vec<(f64, f64)> {
        let corner = |north_m: f64, east_m: f64| (deg(north_m), deg(west_m + east_m));
        vec![
            corner(0.0, 0.0),
            corner(0.0, 2000.0),
            corner(2000.0, 2000.0),
            corner(2000.0, 0.0),
        ]
    }

    /// A zone of this ring, its thalweg `(east_m, bed_elevation_m)` along the middle of the square.
    fn zone(id: &str, kind: ZoneKind, west_m: f64, thalweg: &[(f64, f64)]) -> Zone {
        let point = |&(east_m, bed_elevation_m): &(f64, f64)| ThalwegPoint {
            distance_m: (east_m - thalweg[0].0).abs(),
            bed_elevation_m,
            width_m: 400.0,
            position: Some((deg(1000.0), deg(east_m))),
        };
        Zone {
            id: ZoneId::new(id),
            name: id.to_owned(),
            kind,
            above: None,
            inflow: None,
            area_share: Vec::new(),
            thalweg: thalweg.iter().map(point).collect(),
            orientation_deg: None,
            fetch: Vec::new(),
            outline: square(west_m),
        }
    }

    /// The main body, and an arm whose square begins `gap_m` east of it and whose mouth lies on the main body's shore.
    fn main_and_arm(gap_m: f64) -> [Zone; 2] {
        let main = zone(
            "main",
            ZoneKind::MainBody,
            0.0,
            &[(500.0, 100.0), (1500.0, 100.0)],
        );
        let west_m = 2000.0 + gap_m;
        let arm = zone(
            "arm",
            ZoneKind::Arm,
            west_m,
            &[(2000.0, 100.0), (west_m + 2000.0, 140.0)],
        );
        [main, arm]
    }

    fn way_m(zones: &[Zone], from: (f64, f64), direction_deg: f64, elevation_m: Option<f64>) -> f64 {
        let pools: Vec<Pool<'_>> = zones.iter().map(|z| Pool::new(z, elevation_m)).collect();
        open_water_m(&pools, (deg(from.0), deg(from.1)), direction_deg)
    }

    /// From 1000 m north and 500 m east, at the full pool.
    fn full_m(zones: &[Zone], direction_deg: f64) -> f64 {
        way_m(zones, (1000.0, 500.0), direction_deg, None)
    }

    #[test]
    fn open_water_runs_to_the_shore_and_on_into_the_next_zone() {
        let both = main_and_arm(0.0);
        assert!((full_m(&both[..1], 90.0) - 1500.0).abs() < 0.1);
        assert!((full_m(&both, 90.0) - 3500.0).abs() < 0.1);
        assert!((full_m(&both, 270.0) - 500.0).abs() < 0.1);
        assert!((full_m(&both, 0.0) - 1000.0).abs() < 0.1);
        // North-east: out through the north shore, 1000 m up, sqrt(2) times that along.
        assert!((full_m(&both, 45.0) - 1414.2).abs() < 0.2);
    }

    #[test]
    fn a_gap_at_the_mouth_of_an_arm_is_water_and_one_wider_than_the_mouth_is_land() {
        // The mouth is 400 m wide.
        assert!((full_m(&main_and_arm(390.0), 90.0) - 3890.0).abs() < 0.1);
        assert!((full_m(&main_and_arm(410.0), 90.0) - 1500.0).abs() < 0.1);
        // The other way too, out of the arm.
        let gap = main_and_arm(390.0);
        assert!((way_m(&gap, (1000.0, 2890.0), 270.0, None) - 2890.0).abs() < 0.1);
    }

    #[test]
    fn away_from_the_mouth_the_same_gap_is_a_headland_and_a_sliver_of_the_drawing_is_water() {
        // 900 m north of the mouth, more than its width away.
        let north = (1900.0, 500.0);
        assert!((way_m(&main_and_arm(300.0), north, 90.0, None) - 1500.0).abs() < 0.1);
        assert!((way_m(&main_and_arm(14.0), north, 90.0, None) - 3514.0).abs() < 0.1);
        assert!((way_m(&main_and_arm(16.0), north, 90.0, None) - 1500.0).abs() < 0.1);
    }

    #[test]
    fn two_arms_are_parted_by_land_and_so_are_two_bays_of_one_zone() {
        let [_, arm] = main_and_arm(300.0);
        let other = zone("other", ZoneKind::Arm, 0.0, &[(0.0, 100.0), (2000.0, 100.0)]);
        assert!((full_m(&[other, arm], 90.0) - 1500.0).abs() < 0.1);
        // One zone, drawn round a strip of land 10 m wide.
        let [mut main, _] = main_and_arm(0.0);
        let corner = |north_m: f64, east_m: f64| (deg(north_m), deg(east_m));
        let strip = [(0.0, 1000.0), (1500.0, 1000.0), (1500.0, 1010.0), (0.0, 1010.0)];
        main.outline
            .splice(1..1, strip.map(|(north_m, east_m)| corner(north_m, east_m)));
        assert!((full_m(&[main], 90.0) - 500.0).abs() < 0.1);
    }

    #[test]
    fn without_the_position_of_a_mouth_a_hundred_metres_are_bridged() {
        let way = |gap_m: f64| {
            let mut both = main_and_arm(gap_m);
            both[1].thalweg.iter_mut().for_each(|p| p.position = None);
            full_m(&both, 90.0)
        };
        assert!((way(99.0) - 3599.0).abs() < 0.1);
        assert!((way(101.0) - 1500.0).abs() < 0.1);
    }

    #[test]
    fn an_arm_falls_dry_from_its_head_and_its_fetch_ends_there() {
        let both = main_and_arm(0.0);
        let from_m = (1000.0, 500.0);
        let way = |level_m: f64| way_m(&both, from_m, 90.0, Some(level_m));
        // The bed rises by 40 m over the 2000 m of the arm: at 120 m it is dry from the middle on, give or take a step of 50 m.
        assert!((way(120.0) - 2500.0).abs() <= DRY_STEP_M, "{}", way(120.0));
        assert!((way(141.0) - 3500.0).abs() < 0.1);
        assert!(way(110.0) < way(130.0));
        // The main body, whose bed is wet from end to end, keeps its length at any level above it.
        assert!((way_m(&both[..1], from_m, 90.0, Some(101.0)) - 1500.0).abs() < 0.1);
    }
}
