//! The drowned valley of a zone: bed and width along its thalweg.

use crate::lake::ThalwegPoint;

/// Slices in which the area of a reach is summed.
const SLICES: usize = 64;

/// Places at which a piece is looked at from its head to its mouth, less one.
pub(super) const LOOKS: usize = 48;

/// A piece of a valley, from the end toward the lake to the end toward the head.
#[derive(Debug, Clone, PartialEq)]
pub struct Valley {
    /// The whole thalweg of the zone, from its mouth to its head; at least two points.
    points: Vec<ThalwegPoint>,
    full_pool_elevation_m: f64,
    /// Distance from the zone's mouth of the end toward the lake.
    pub from_m: f64,
    /// Distance from the zone's mouth of the end toward the head.
    pub to_m: f64,
    /// Bed and width at full pool at even steps from the end toward the head to that toward the lake.
    looks: Vec<(f64, f64)>,
}

impl Valley {
    /// The whole valley of a thalweg; `None` of fewer than two points.
    pub fn whole(points: &[ThalwegPoint], full_pool_elevation_m: f64) -> Option<Valley> {
        let (first, last) = (points.first()?, points.last()?);
        (first.distance_m < last.distance_m).then(|| {
            let whole = Valley {
                points: points.to_vec(),
                full_pool_elevation_m,
                from_m: first.distance_m,
                to_m: last.distance_m,
                looks: Vec::new(),
            };
            whole.piece(first.distance_m, last.distance_m)
        })
    }

    /// The piece between two distances from the mouth.
    pub fn piece(&self, from_m: f64, to_m: f64) -> Valley {
        let mut piece = Valley {
            points: self.points.clone(),
            full_pool_elevation_m: self.full_pool_elevation_m,
            from_m,
            to_m,
            looks: Vec::new(),
        };
        piece.looks = (0..=LOOKS).map(|i| piece.at(piece.look_m(i))).collect();
        piece
    }

    /// Distance of a look from the mouth, m; look 0 is the end toward the head.
    pub(super) fn look_m(&self, look: usize) -> f64 {
        self.to_m - self.length_m() * look as f64 / LOOKS as f64
    }

    /// Area of the section, m2, and width, m, at each look in turn with the pool at an elevation.
    pub(super) fn sections(&self, elevation_m: f64) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.looks.iter().map(move |at| self.section(*at, elevation_m))
    }

    /// Area of the section, m2, and width, m, at a distance from the mouth with the pool at an elevation.
    pub(super) fn section_at(&self, distance_m: f64, elevation_m: f64) -> (f64, f64) {
        self.section(self.at(distance_m), elevation_m)
    }

    /// Length of the piece, m.
    pub fn length_m(&self) -> f64 {
        self.to_m - self.from_m
    }

    /// Bed and width at full pool at a distance from the mouth, linear between points, constant outside.
    fn at(&self, distance_m: f64) -> (f64, f64) {
        let after = self.points.partition_point(|p| p.distance_m <= distance_m);
        match (
            after.checked_sub(1).map(|i| self.points[i]),
            self.points.get(after),
        ) {
            (Some(p), Some(q)) => {
                let share = (distance_m - p.distance_m) / (q.distance_m - p.distance_m);
                (
                    p.bed_elevation_m + share * (q.bed_elevation_m - p.bed_elevation_m),
                    p.width_m + share * (q.width_m - p.width_m),
                )
            }
            (Some(p), None) => (p.bed_elevation_m, p.width_m),
            (None, Some(q)) => (q.bed_elevation_m, q.width_m),
            (None, None) => (self.full_pool_elevation_m, 0.0),
        }
    }

    /// Elevation of the bed at a distance from the mouth, m.
    pub fn bed_m(&self, distance_m: f64) -> f64 {
        self.at(distance_m).0
    }

    /// Width of the surface at a distance from the mouth with the pool at an elevation, m: a triangular section up to
    /// the full pool, `W (e - bed)/(full - bed)`, and upright sides above; 0 on dry land. Project choice: a thalweg
    /// gives one width a point.
    pub fn width_m(&self, distance_m: f64, elevation_m: f64) -> f64 {
        self.section_at(distance_m, elevation_m).1
    }

    /// Area of the section under the surface at an elevation, m2: that of [`Valley::width_m`] over depth.
    pub fn section_m2(&self, distance_m: f64, elevation_m: f64) -> f64 {
        self.section_at(distance_m, elevation_m).0
    }

    /// Area and width of a section with a bed and a width at full pool.
    #[inline]
    fn section(&self, (bed_m, full_width_m): (f64, f64), elevation_m: f64) -> (f64, f64) {
        let depth_m = elevation_m - bed_m;
        if depth_m <= 0.0 {
            return (0.0, 0.0);
        }
        let full_depth_m = (self.full_pool_elevation_m - bed_m).max(0.0);
        if depth_m >= full_depth_m {
            let upright_m2 = full_width_m * (depth_m - full_depth_m);
            return (0.5 * full_width_m * full_depth_m + upright_m2, full_width_m);
        }
        let width_m = full_width_m * (depth_m / full_depth_m);
        (0.5 * width_m * depth_m, width_m)
    }

    /// The bed along the piece, from the end toward the lake: its ends and every point of the thalweg between them,
    /// `(distance_m from the mouth, bed_elevation_m)`; straight between.
    pub fn bed_points_m(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        let between = self
            .points
            .iter()
            .filter(|p| p.distance_m > self.from_m && p.distance_m < self.to_m)
            .map(|p| (p.distance_m, p.bed_elevation_m));
        std::iter::once((self.from_m, self.bed_m(self.from_m)))
            .chain(between)
            .chain([(self.to_m, self.bed_m(self.to_m))])
    }

    /// Lowest bed of the piece, m.
    pub fn lowest_bed_m(&self) -> f64 {
        self.bed_points_m()
            .map(|(_, bed_m)| bed_m)
            .fold(f64::INFINITY, f64::min)
    }

    /// Area of the surface of the piece with the pool at an elevation, by the thalweg alone, m2; midpoint rule.
    pub fn surface_m2(&self, elevation_m: f64) -> f64 {
        let slice_m = self.length_m() / SLICES as f64;
        (0..SLICES)
            .map(|i| self.width_m(self.from_m + (i as f64 + 0.5) * slice_m, elevation_m) * slice_m)
            .sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn valley() -> Valley {
        let point = |distance_m: f64, bed_elevation_m: f64, width_m: f64| ThalwegPoint {
            distance_m,
            bed_elevation_m,
            width_m,
            position: None,
        };
        let points = [point(0.0, 200.0, 400.0), point(5000.0, 220.0, 200.0)];
        Valley::whole(&points, 220.0).unwrap()
    }

    #[test]
    fn a_section_is_a_triangle_up_to_the_full_pool() {
        let valley = valley();
        // Mouth: 20 m deep and 400 m wide when full; half-way up half as wide, a quarter of the section.
        assert_eq!(valley.width_m(0.0, 210.0), 200.0);
        assert_eq!(valley.section_m2(0.0, 220.0), 4000.0);
        assert_eq!(valley.section_m2(0.0, 210.0), 1000.0);
        assert_eq!(valley.section_m2(0.0, 222.0), 4800.0);
        assert_eq!(
            (valley.width_m(2500.0, 209.0), valley.section_m2(2500.0, 209.0)),
            (0.0, 0.0)
        );
    }

    #[test]
    fn pieces_add_up_to_the_whole() {
        let whole = valley();
        let parts = [whole.piece(0.0, 2000.0), whole.piece(2000.0, 5000.0)];
        for elevation_m in [201.0, 210.0, 219.0, 225.0] {
            let sum: f64 = parts.iter().map(|p| p.surface_m2(elevation_m)).sum();
            // The water's edge falls within a slice of 78 m: the midpoint rule then errs by an eighth of its square times
            // the slope of the width there, which is that of the bed (0.004) times full width over full depth.
            let edge_m = (elevation_m - 200.0) / 0.004;
            let (bed_m, full_width_m) = whole.at(edge_m);
            let slope = 0.004 * full_width_m / (220.0 - bed_m).max(0.1);
            let within_m2 = 78.125_f64.powi(2) / 8.0 * slope;
            let apart_m2 = (sum - whole.surface_m2(elevation_m)).abs();
            assert!(apart_m2 < within_m2, "{elevation_m}: {apart_m2} {within_m2}");
        }
        assert_eq!(parts[1].lowest_bed_m(), 208.0);
    }

    #[test]
    fn the_bed_of_a_piece_bends_where_the_thalweg_does() {
        let point = |distance_m: f64, bed_elevation_m: f64| ThalwegPoint {
            distance_m,
            bed_elevation_m,
            width_m: 100.0,
            position: None,
        };
        let points = [point(0.0, 200.0), point(1000.0, 202.0), point(3000.0, 210.0)];
        let piece = Valley::whole(&points, 220.0).unwrap().piece(500.0, 2000.0);
        // Half of 2 m on, then 4 m in a thousand.
        let wanted = [(500.0, 201.0), (1000.0, 202.0), (2000.0, 206.0)];
        assert_eq!(piece.bed_points_m().collect::<Vec<_>>(), wanted);
    }

    #[test]
    fn a_thalweg_of_one_point_is_no_valley() {
        assert_eq!(Valley::whole(&valley().points[..1], 220.0), None);
    }
}
