//! Open water upwind from the outlines of the pool, where the file gives a zone no table of fetch.

use super::model::{Lake, Zone, ZoneKind};

/// Directions of a table made from outlines, degrees apart: Smith 1991 averages over 15.
const STEP_DEG: usize = 15;
/// Metres in a degree of latitude on the sphere of `distance_m` (6371.009 km times pi / 180).
const M_PER_DEG: f64 = 111_195.08;

impl Lake {
    /// Open water upwind of a zone by direction, for the pool at `elevation_m`: the file's own table where it has one, else from
    /// the outlines of the pool's zones; empty where neither is there.
    ///
    /// From an outline: the longest way to the shore upwind of any point of the zone's thalweg, or of the middle of its outline where
    /// its points have no position; water goes on from one zone into the next. Outlines are of the full pool. Below it lengths
    /// shrink as the root of the lake's area (project choice: a pool that keeps its shape); with `None` they are those of the
    /// full pool, the longest, as a caution needs them.
    pub fn fetch_of(&self, zone: &Zone, elevation_m: Option<f64>) -> Vec<(f64, f64)> {
        if !zone.fetch.is_empty() {
            return zone.fetch.clone();
        }
        let rings: Vec<&[(f64, f64)]> = self
            .zones
            .iter()
            .filter(|z| z.kind != ZoneKind::River && z.outline.len() > 2)
            .map(|z| z.outline.as_slice())
            .collect();
        let mut from: Vec<(f64, f64)> = zone.thalweg.iter().filter_map(|p| p.position).collect();
        if from.is_empty() {
            from.extend(middle(&zone.outline));
        }
        from.retain(|point| rings.iter().any(|ring| is_inside(ring, *point)));
        if from.is_empty() {
            return Vec::new();
        }
        let shrink_frac = self.shrink_frac(elevation_m);
        (0..360)
            .step_by(STEP_DEG)
            .map(|deg| {
                let direction_deg = deg as f64;
                let longest_m = from
                    .iter()
                    .map(|point| open_water_m(&rings, *point, direction_deg))
                    .fold(0.0, f64::max);
                (direction_deg, shrink_frac * longest_m)
            })
            .collect()
    }

    /// Lengths at a level over those of the full pool; 1 where the level or the areas are not known, and above it.
    fn shrink_frac(&self, elevation_m: Option<f64>) -> f64 {
        let area = |elevation_m: f64| self.hypsography.as_ref().and_then(|h| h.area_m2(elevation_m));
        match (elevation_m.and_then(area), area(self.full_pool_elevation_m)) {
            (Some(now_m2), Some(full_m2)) if full_m2 > 0.0 => (now_m2 / full_m2).min(1.0).sqrt(),
            _ => 1.0,
        }
    }
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
/// The line is cut by all rings into pieces; it ends with the first piece whose middle lies in none of them.
fn open_water_m(rings: &[&[(f64, f64)]], from: (f64, f64), direction_deg: f64) -> f64 {
    let shrink = from.0.to_radians().cos();
    let plane = |(lat, lon): (f64, f64)| ((lon - from.1) * shrink * M_PER_DEG, (lat - from.0) * M_PER_DEG);
    let (east, north) = direction_deg.to_radians().sin_cos();
    let mut cuts: Vec<f64> = vec![0.0];
    for (a, b) in rings.iter().flat_map(|ring| sides(ring)) {
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
    let place = |along_m: f64| {
        (
            from.0 + along_m * north / M_PER_DEG,
            from.1 + along_m * east / (M_PER_DEG * shrink),
        )
    };
    let is_water = |along_m: f64| rings.iter().any(|ring| is_inside(ring, place(along_m)));
    let wet = cuts
        .windows(2)
        .take_while(|pair| is_water(0.5 * (pair[0] + pair[1])));
    wet.last().map_or(0.0, |pair| pair[1])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two squares of 2 km side by side, the second to the east, near the equator where a degree is one length both ways.
    fn squares() -> [Vec<(f64, f64)>; 2] {
        let side = 2000.0 / M_PER_DEG;
        let square = |west: f64| vec![(0.0, west), (0.0, west + side), (side, west + side), (side, west)];
        [square(0.0), square(side)]
    }

    #[test]
    fn open_water_runs_to_the_shore_and_on_into_the_next_zone() {
        let [west, east] = squares();
        let from = (1000.0 / M_PER_DEG, 500.0 / M_PER_DEG);
        let way = |rings: &[&[(f64, f64)]], deg| open_water_m(rings, from, deg);
        assert!((way(&[&west], 90.0) - 1500.0).abs() < 0.1);
        assert!((way(&[&west, &east], 90.0) - 3500.0).abs() < 0.1);
        assert!((way(&[&west, &east], 270.0) - 500.0).abs() < 0.1);
        assert!((way(&[&west, &east], 0.0) - 1000.0).abs() < 0.1);
        // North-east: out through the north shore, 1000 m up, sqrt(2) times that along.
        assert!((way(&[&west, &east], 45.0) - 1414.2).abs() < 0.2);
    }

    #[test]
    fn a_bay_behind_a_headland_ends_at_the_headland() {
        let [west, east] = squares();
        let gap = 500.0 / M_PER_DEG;
        let beyond: Vec<(f64, f64)> = east.iter().map(|p| (p.0, p.1 + gap)).collect();
        let from = (1000.0 / M_PER_DEG, 500.0 / M_PER_DEG);
        assert!((open_water_m(&[&west, &beyond], from, 90.0) - 1500.0).abs() < 0.1);
        assert!(is_inside(&west, from) && !is_inside(&beyond, from));
    }
}
