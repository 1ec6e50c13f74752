//! Area, volume and depth by elevation: of the lake, and of each zone.
//!
//! Between two rows of the table the area is linear in elevation, so the volume is quadratic. Where
//! the file gives volumes, that quadratic is stretched to meet them. Outside the table every answer is
//! `None`: the lake is not known there.

use super::model::{Hypsography, Lake, Zone, ZoneKind};

/// An arm shallower than this is closed, metres (common practice, no source).
pub const CLOSED_DEPTH_M: f64 = 2.0;
/// An arm with less than this share of the lake's volume is closed (common practice, no source).
pub const CLOSED_VOLUME_FRAC: f64 = 0.001;

impl Hypsography {
    /// The table of elevations and areas, its volume by the trapezoid rule from the first row up.
    /// The caller has made sure that both are of one length, elevations increasing.
    pub fn from_areas(elevation_m: Vec<f64>, area_m2: Vec<f64>) -> Self {
        let mut volume_m3 = Vec::with_capacity(elevation_m.len());
        let mut below_m3 = 0.0;
        for i in 0..elevation_m.len().min(area_m2.len()) {
            if i > 0 {
                below_m3 += 0.5 * (area_m2[i] + area_m2[i - 1]) * (elevation_m[i] - elevation_m[i - 1]);
            }
            volume_m3.push(below_m3);
        }
        Hypsography {
            elevation_m,
            area_m2,
            volume_m3,
            volume_given: false,
        }
    }

    /// The table with one row more, `height_m` above the last: its shores go on with the slope that they have between the
    /// last two rows. Unchanged where it has fewer than two.
    #[must_use]
    pub fn with_freeboard(&self, height_m: f64) -> Hypsography {
        let mut higher = self.clone();
        if let [.., (e0, a0), (e1, a1)] = self
            .elevation_m
            .iter()
            .copied()
            .zip(self.area_m2.iter().copied())
            .collect::<Vec<_>>()[..]
        {
            let area_m2 = a1 + (a1 - a0) / (e1 - e0) * height_m;
            let volume_m3 = self.volume_m3.last().copied().unwrap_or(0.0);
            higher.elevation_m.push(e1 + height_m);
            higher.area_m2.push(area_m2);
            higher.volume_m3.push(volume_m3 + 0.5 * (a1 + area_m2) * height_m);
        }
        higher
    }

    /// Elevation of the deepest bed: the first row. `None` for an empty table.
    pub fn bed_elevation_m(&self) -> Option<f64> {
        self.elevation_m.first().copied()
    }

    /// Elevation of the last row. `None` for an empty table.
    pub fn top_elevation_m(&self) -> Option<f64> {
        self.elevation_m.last().copied()
    }

    /// The interval `[i, i + 1]` of the table that holds `elevation_m`, and the height above row `i`.
    fn interval(&self, elevation_m: f64) -> Option<(usize, f64)> {
        let last = self.elevation_m.len().checked_sub(1)?;
        if last == 0 || !(elevation_m >= self.elevation_m[0] && elevation_m <= self.elevation_m[last]) {
            return None;
        }
        let above = self.elevation_m.partition_point(|&e| e <= elevation_m);
        let i = above.saturating_sub(1).min(last - 1);
        Some((i, elevation_m - self.elevation_m[i]))
    }

    /// Area of the surface at `elevation_m`, linear between rows. `None` outside the table.
    pub fn area_m2(&self, elevation_m: f64) -> Option<f64> {
        let (i, height_m) = self.interval(elevation_m)?;
        let step_m = self.elevation_m[i + 1] - self.elevation_m[i];
        Some(self.area_m2[i] + (self.area_m2[i + 1] - self.area_m2[i]) * height_m / step_m)
    }

    /// Volume below `elevation_m`. `None` outside the table.
    ///
    /// `V = V_i + k (A_i h + (A_{i+1} - A_i) h^2 / (2 H))`, `h` the height above row `i`, `H` the
    /// height of the interval, `k` such that the volume of the next row is met (1 where volumes were
    /// derived from the areas).
    ///
    /// ```
    /// use plungeline::lake::Hypsography;
    /// // A wedge: area 0 at the bed, 2000 m2 ten metres up; half-way up it holds a quarter of 10 000 m3.
    /// let wedge = Hypsography::from_areas(vec![100.0, 110.0], vec![0.0, 2000.0]);
    /// assert_eq!(wedge.volume_m3(105.0), Some(2500.0));
    /// assert_eq!(wedge.volume_m3(110.1), None);
    /// ```
    pub fn volume_m3(&self, elevation_m: f64) -> Option<f64> {
        let (i, height_m) = self.interval(elevation_m)?;
        let (step_m, whole_m3) = self.wedge(i);
        let part_m3 = self.area_m2[i] * height_m
            + 0.5 * (self.area_m2[i + 1] - self.area_m2[i]) * height_m * height_m / step_m;
        let gain_m3 = self.volume_m3[i + 1] - self.volume_m3[i];
        let share_frac = if whole_m3 > 0.0 {
            part_m3 / whole_m3
        } else {
            height_m / step_m
        };
        Some(self.volume_m3[i] + gain_m3 * share_frac)
    }

    /// Slope of [`Hypsography::volume_m3`] over elevation: the area that belongs to that curve, so that what is
    /// reckoned with both closes. At a row, where the curve may bend, the mean of both sides; at the ends the
    /// inner one. Equal to [`Hypsography::area_m2`] where the volumes were derived from areas. `None` outside
    /// the table.
    pub fn volume_slope_m2(&self, elevation_m: f64) -> Option<f64> {
        let (i, height_m) = self.interval(elevation_m)?;
        let area_m2 = self.area_m2(elevation_m)?;
        let of_interval = |k: usize| {
            let (step_m, whole_m3) = self.wedge(k);
            let gain_m3 = self.volume_m3[k + 1] - self.volume_m3[k];
            if whole_m3 > 0.0 {
                area_m2 * gain_m3 / whole_m3
            } else {
                gain_m3 / step_m
            }
        };
        Some(match i.checked_sub(1) {
            Some(before) if height_m == 0.0 => 0.5 * (of_interval(before) + of_interval(i)),
            _ => of_interval(i),
        })
    }

    /// Height of interval `i`, and its volume by the trapezoid rule.
    fn wedge(&self, i: usize) -> (f64, f64) {
        let step_m = self.elevation_m[i + 1] - self.elevation_m[i];
        (step_m, 0.5 * (self.area_m2[i] + self.area_m2[i + 1]) * step_m)
    }

    /// Elevation at which the lake holds `volume_m3`: the inverse of [`Hypsography::volume_m3`].
    /// `None` outside the table. Where the volume does not change with elevation, the lowest.
    pub fn elevation_m(&self, volume_m3: f64) -> Option<f64> {
        let last = self.volume_m3.len().checked_sub(1)?;
        if last == 0 || !(volume_m3 >= self.volume_m3[0] && volume_m3 <= self.volume_m3[last]) {
            return None;
        }
        let i = self
            .volume_m3
            .partition_point(|&v| v < volume_m3)
            .saturating_sub(1)
            .min(last - 1);
        let (step_m, whole_m3) = self.wedge(i);
        let gain_m3 = self.volume_m3[i + 1] - self.volume_m3[i];
        if gain_m3 <= 0.0 {
            return Some(self.elevation_m[i]);
        }
        let share_frac = (volume_m3 - self.volume_m3[i]) / gain_m3;
        if whole_m3 <= 0.0 {
            return Some(self.elevation_m[i] + share_frac * step_m);
        }
        // a h^2 + b h = c with a, b >= 0; this form of the root loses no digits when a is small.
        let a = 0.5 * (self.area_m2[i + 1] - self.area_m2[i]) / step_m;
        let b = self.area_m2[i];
        let c = share_frac * whole_m3;
        let below = b + (b * b + 4.0 * a * c).max(0.0).sqrt();
        let height_m = if below > 0.0 { 2.0 * c / below } else { 0.0 };
        Some(self.elevation_m[i] + height_m.min(step_m))
    }

    /// Volume over area at `elevation_m`. `None` outside the table, or where the area is 0.
    pub fn mean_depth_m(&self, elevation_m: f64) -> Option<f64> {
        let area_m2 = self.area_m2(elevation_m)?;
        (area_m2 > 0.0).then_some(self.volume_m3(elevation_m)? / area_m2)
    }

    /// Depth of the deepest bed below a surface at `elevation_m`. `None` outside the table.
    pub fn max_depth_m(&self, elevation_m: f64) -> Option<f64> {
        self.interval(elevation_m)?;
        Some(elevation_m - self.bed_elevation_m()?)
    }
}

impl Zone {
    /// This zone's share of the lake's area at `elevation_m`, 0 to 1: linear between the rows of the
    /// file, constant outside. `None` where the file gives none, and for a river.
    pub fn area_share_frac(&self, elevation_m: f64) -> Option<f64> {
        let (first, last) = (self.area_share.first()?, self.area_share.last()?);
        if elevation_m <= first.0 {
            return Some(first.1);
        }
        if elevation_m >= last.0 {
            return Some(last.1);
        }
        let above = self.area_share.iter().position(|row| row.0 > elevation_m)?;
        let ((e0, s0), (e1, s1)) = (self.area_share[above - 1], self.area_share[above]);
        Some(s0 + (s1 - s0) * (elevation_m - e0) / (e1 - e0))
    }

    /// Elevation of the lowest bed along the thalweg. `None` where the thalweg is not known.
    pub fn lowest_bed_elevation_m(&self) -> Option<f64> {
        self.thalweg
            .iter()
            .map(|p| p.bed_elevation_m)
            .min_by(f64::total_cmp)
    }
}

impl Lake {
    /// Area of `zone` with the pool at `elevation_m`. `None` outside the hypsography, without one, and
    /// for a river.
    pub fn zone_area_m2(&self, zone: &Zone, elevation_m: f64) -> Option<f64> {
        Some(self.hypsography.as_ref()?.area_m2(elevation_m)? * zone.area_share_frac(elevation_m)?)
    }

    /// Volume of `zone` with the pool at `elevation_m`: the integral of its area over elevation, each
    /// of whose pieces is quadratic, so that Simpson's rule is exact; pieces are scaled to the lake's
    /// own volume where the file gave volumes, so that zones add up to the lake. `None` as for
    /// [`Lake::zone_area_m2`]. Volume below the first row is shared as the area there.
    pub fn zone_volume_m3(&self, zone: &Zone, elevation_m: f64) -> Option<f64> {
        let table = self.hypsography.as_ref()?;
        table.interval(elevation_m)?;
        let mut knots_m: Vec<f64> = table
            .elevation_m
            .iter()
            .copied()
            .filter(|&e| e < elevation_m)
            .collect();
        let shares = zone.area_share.iter().map(|row| row.0);
        knots_m.extend(shares.filter(|&e| e < elevation_m && table.elevation_m[0] < e));
        knots_m.push(elevation_m);
        knots_m.sort_by(f64::total_cmp);
        let mut total_m3 = table.volume_m3[0] * zone.area_share_frac(table.elevation_m[0])?;
        for pair in knots_m.windows(2) {
            let middle_m = 0.5 * (pair[0] + pair[1]);
            let area = |e: f64| Some((table.area_m2(e)?, table.area_m2(e)? * zone.area_share_frac(e)?));
            let (low, mid, high) = (area(pair[0])?, area(middle_m)?, area(pair[1])?);
            let lake_m3 = 0.5 * (low.0 + high.0) * (pair[1] - pair[0]);
            let zone_m3 = (low.1 + 4.0 * mid.1 + high.1) * (pair[1] - pair[0]) / 6.0;
            let gain_m3 = table.volume_m3(pair[1])? - table.volume_m3(pair[0])?;
            total_m3 += if lake_m3 > 0.0 {
                zone_m3 * gain_m3 / lake_m3
            } else {
                0.0
            };
        }
        Some(total_m3)
    }

    /// Greatest depth of `zone` with the pool at `elevation_m`, 0 when it is dry: from its thalweg, or
    /// for the main body from the hypsography. `None` where neither is known.
    pub fn zone_max_depth_m(&self, zone: &Zone, elevation_m: f64) -> Option<f64> {
        let lake_bed = || match zone.kind {
            ZoneKind::MainBody => self.hypsography.as_ref().and_then(Hypsography::bed_elevation_m),
            ZoneKind::Arm | ZoneKind::River => None,
        };
        let bed_m = zone.lowest_bed_elevation_m().or_else(lake_bed)?;
        Some((elevation_m - bed_m).max(0.0))
    }

    /// Whether an arm is closed with the pool at `elevation_m`: shallower than [`CLOSED_DEPTH_M`] or
    /// less than [`CLOSED_VOLUME_FRAC`] of the lake's volume. `None` where the file gives neither
    /// depth nor volume. The main body and rivers are never closed.
    pub fn is_closed_at(&self, zone: &Zone, elevation_m: f64) -> Option<bool> {
        if zone.kind != ZoneKind::Arm {
            return Some(false);
        }
        let shallow = self
            .zone_max_depth_m(zone, elevation_m)
            .map(|depth_m| depth_m < CLOSED_DEPTH_M);
        let lake_m3 = self.hypsography.as_ref().and_then(|h| h.volume_m3(elevation_m));
        let small = match (self.zone_volume_m3(zone, elevation_m), lake_m3) {
            (Some(zone_m3), Some(lake_m3)) => Some(zone_m3 < CLOSED_VOLUME_FRAC * lake_m3),
            _ => None,
        };
        match (shallow, small) {
            (None, None) => None,
            (a, b) => Some(a == Some(true) || b == Some(true)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> Hypsography {
        Hypsography::from_areas(
            vec![100.0, 104.0, 110.0, 111.0, 130.0],
            vec![0.0, 500.0, 500.0, 900.0, 4000.0],
        )
    }

    /// The slow, obvious integral: many thin slices by the midpoint rule.
    fn slices_m3(table: &Hypsography, elevation_m: f64) -> f64 {
        let count = 200_000;
        let slice_m = (elevation_m - 100.0) / f64::from(count);
        (0..count)
            .map(|i| table.area_m2(100.0 + (f64::from(i) + 0.5) * slice_m).unwrap() * slice_m)
            .sum()
    }

    #[test]
    fn volume_is_the_integral_of_area() {
        for elevation_m in [100.0, 102.5, 104.0, 107.3, 110.0, 110.4, 125.0, 130.0] {
            let (found, wanted) = (
                table().volume_m3(elevation_m).unwrap(),
                slices_m3(&table(), elevation_m),
            );
            // The midpoint rule errs only in the slices that hold a knot: below 0.1 m3 here.
            assert!((found - wanted).abs() < 0.1, "{elevation_m}: {found} {wanted}");
        }
    }

    #[test]
    fn elevation_of_volume_undoes_volume_of_elevation() {
        for i in 0..=300 {
            let elevation_m = 100.0 + 0.1 * f64::from(i);
            let back = table()
                .elevation_m(table().volume_m3(elevation_m).unwrap())
                .unwrap();
            assert!(
                (back - elevation_m).abs() < 1e-6,
                "{elevation_m} came back as {back}"
            );
        }
    }

    #[test]
    fn outside_the_table_nothing_is_known() {
        for elevation_m in [99.999, 130.001, f64::NAN, f64::INFINITY] {
            assert_eq!(table().area_m2(elevation_m), None);
            assert_eq!(table().volume_m3(elevation_m), None);
            assert_eq!(table().max_depth_m(elevation_m), None);
        }
        assert_eq!(table().elevation_m(-1.0), None);
        assert_eq!(table().elevation_m(1.0e9), None);
        let empty = Hypsography::from_areas(Vec::new(), Vec::new());
        assert_eq!((empty.area_m2(1.0), empty.elevation_m(0.0)), (None, None));
    }

    #[test]
    fn given_volumes_are_met_at_the_rows_and_the_inverse_holds_between() {
        let mut given = table();
        for (volume_m3, factor) in given.volume_m3.iter_mut().zip([1.0, 1.02, 0.99, 1.0, 1.01]) {
            *volume_m3 = (*volume_m3 + 50.0) * factor;
        }
        given.volume_given = true;
        for (i, elevation_m) in given.elevation_m.clone().into_iter().enumerate() {
            let found = given.volume_m3(elevation_m).unwrap();
            assert!((found - given.volume_m3[i]).abs() < 1e-9, "{elevation_m}");
        }
        for elevation_m in [101.0, 105.0, 110.5, 129.9] {
            let back = given.elevation_m(given.volume_m3(elevation_m).unwrap()).unwrap();
            assert!(
                (back - elevation_m).abs() < 1e-9,
                "{elevation_m} came back as {back}"
            );
        }
    }

    #[test]
    fn the_slope_of_the_volume_is_that_of_a_difference_quotient() {
        let mut given = table();
        for (volume_m3, factor) in given.volume_m3.iter_mut().zip([1.0, 1.02, 0.99, 1.0, 1.01]) {
            *volume_m3 = (*volume_m3 + 50.0) * factor;
        }
        for table in [table(), given] {
            for elevation_m in [102.0, 104.0, 107.3, 110.0, 110.4, 125.0] {
                let at = |e: f64| table.volume_m3(e).unwrap();
                let wanted = (at(elevation_m + 1e-4) - at(elevation_m - 1e-4)) / 2e-4;
                let found = table.volume_slope_m2(elevation_m).unwrap();
                // The quotient spans 0.2 mm of a curve that bends by some 200 m2/m.
                assert!((found - wanted).abs() < 0.05, "{elevation_m}: {found} {wanted}");
            }
        }
        assert_eq!(table().volume_slope_m2(99.0), None);
    }

    #[test]
    fn depths_are_the_wedges() {
        let wedge = Hypsography::from_areas(vec![0.0, 10.0], vec![0.0, 100.0]);
        // A wedge is half as deep on average as at its deepest.
        assert_eq!(wedge.mean_depth_m(8.0), Some(4.0));
        assert_eq!(wedge.max_depth_m(8.0), Some(8.0));
        assert_eq!(wedge.mean_depth_m(0.0), None);
    }
}
