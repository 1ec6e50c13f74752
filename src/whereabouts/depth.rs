//! The depth band: where area times a power of suitability lies, over all members.

use super::habitat::ZoneHabitat;
use crate::math::interpolate::trapezoid;
use crate::math::quantiles::{median, quantiles};

/// Step of depth on which the band is smoothed.
const SMOOTH_STEP_M: f64 = 0.1;
/// Reach of the smoothing in standard deviations.
const SMOOTH_REACH: f64 = 4.0;

/// A depth band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DepthBand {
    /// 10 % of the density lie above.
    pub top_m: f64,
    /// Half lie above.
    pub middle_m: f64,
    /// 90 % lie above.
    pub bottom_m: f64,
    /// Depth of the most suitable water within the band, median over members; `None` where no depth
    /// stands out.
    pub best_m: Option<f64>,
}

/// Water that is nearly as suitable as the best counts with it (project choice).
const NEARLY_BEST_FRAC: f64 = 0.98;
/// A best that fills more than this share of the band does not stand out (project choice).
const STANDS_OUT_FRAC: f64 = 0.5;

/// The depths above which 10, 50 and 90 % of the density lie, and the best depth between the outer two, where
/// more than half of the members have one, and eight in ten of these lie within half of the band: else the water is mixed, and each
/// member's best is chance.
///
/// Density of a member: `p(z) = A S^g / integral` (project choice; `exponent` = g; constant area
/// where it is not known). Members count alike; one without any suitable water counts nothing. With
/// `extra_sd_m` above 0 the density is spread by a normal distribution of that deviation, reflected at
/// the surface and the bottom. `None` where no member has suitable water.
pub fn depth_band(habitat: &ZoneHabitat, exponent: f64, extra_sd_m: f64) -> Option<DepthBand> {
    let mut density = Density::pooled(habitat, exponent)?;
    if extra_sd_m > 0.0 {
        density = density.spread(extra_sd_m);
    }
    let [top_m, middle_m, bottom_m] = [0.1, 0.5, 0.9].map(|part| density.depth_above_which(part));
    let suitable = habitat.suitability.iter().filter(|s| s.iter().any(|s| *s > 0.0));
    let best: Vec<Option<f64>> = suitable
        .map(|s| best_between(&habitat.depth_m, s, top_m, bottom_m))
        .collect();
    let found: Vec<f64> = best.iter().copied().flatten().collect();
    let agree = quantiles(&found, [0.1, 0.9])
        .is_some_and(|[low_m, high_m]| high_m - low_m <= STANDS_OUT_FRAC * (bottom_m - top_m));
    let best_m = median(&found).filter(|_| agree && 2 * found.len() > best.len());
    Some(DepthBand {
        top_m,
        middle_m,
        bottom_m,
        best_m,
    })
}

/// Middle of the most suitable stretch between `top_m` and `bottom_m`; `None` where nothing there is suitable,
/// or where the stretch fills most of it.
///
/// Area does not count: where the water is equally good, fish are not nearer the surface because the lake
/// is wider there. The stretch runs both ways from the greatest suitability as far as it stays within 2 % of it.
fn best_between(depth_m: &[f64], suitability: &[f64], top_m: f64, bottom_m: f64) -> Option<f64> {
    let inside = |i: usize| (top_m..=bottom_m).contains(&depth_m[i]);
    let candidates = || (0..suitability.len()).filter(|i| inside(*i));
    let best = candidates().max_by(|a, b| suitability[*a].total_cmp(&suitability[*b]))?;
    if suitability[best] <= 0.0 {
        return None;
    }
    let nearly = |i: &usize| inside(*i) && suitability[*i] >= NEARLY_BEST_FRAC * suitability[best];
    let first = (0..best).rev().take_while(nearly).last().unwrap_or(best);
    let last = (best..suitability.len())
        .take_while(nearly)
        .last()
        .unwrap_or(best);
    let fills = depth_m[last] - depth_m[first] > STANDS_OUT_FRAC * (bottom_m - top_m);
    (!fills).then(|| 0.5 * (depth_m[first] + depth_m[last]))
}

/// Mass between neighbouring depths; the masses sum to 1.
struct Density {
    depth_m: Vec<f64>,
    mass: Vec<f64>,
}

impl Density {
    fn pooled(habitat: &ZoneHabitat, exponent: f64) -> Option<Density> {
        let depth_m = &habitat.depth_m;
        let mut mass = vec![0.0; depth_m.len().saturating_sub(1)];
        let mut counted = 0.0;
        for suitability in &habitat.suitability {
            let value: Vec<f64> = match &habitat.area_m2 {
                Some(area) => area
                    .iter()
                    .zip(suitability)
                    .map(|(a, s)| a * power(*s, exponent))
                    .collect(),
                None => suitability.iter().map(|s| power(*s, exponent)).collect(),
            };
            let total = trapezoid(depth_m, &value);
            if total > 0.0 {
                counted += 1.0;
                for i in 0..mass.len() {
                    mass[i] += 0.5 * (depth_m[i + 1] - depth_m[i]) * (value[i] + value[i + 1]) / total;
                }
            }
        }
        if counted == 0.0 {
            return None;
        }
        mass.iter_mut().for_each(|m| *m /= counted);
        Some(Density {
            depth_m: depth_m.clone(),
            mass,
        })
    }

    /// The depth above which the share `mass_frac` of the mass lies.
    fn depth_above_which(&self, mass_frac: f64) -> f64 {
        let mut above = 0.0;
        for (i, mass) in self.mass.iter().enumerate() {
            if *mass > 0.0 && above + mass >= mass_frac {
                let (top, bottom) = (self.depth_m[i], self.depth_m[i + 1]);
                return top + (mass_frac - above).max(0.0) / mass * (bottom - top);
            }
            above += mass;
        }
        self.depth_m[self.depth_m.len() - 1]
    }

    /// The density spread by a normal distribution, reflected at both ends.
    fn spread(&self, sd_m: f64) -> Density {
        let (top, bottom) = (self.depth_m[0], self.depth_m[self.depth_m.len() - 1]);
        let cells = ((bottom - top) / SMOOTH_STEP_M).ceil().clamp(1.0, 4000.0) as usize;
        let step_m = (bottom - top) / cells as f64;
        let even = self.rebinned(top, step_m, cells);
        let reach = (SMOOTH_REACH * sd_m / step_m).ceil() as usize;
        let kernel: Vec<f64> = (0..=reach)
            .map(|k| (-0.5 * (k as f64 * step_m / sd_m).powi(2)).exp())
            .collect();
        let total = kernel[0] + 2.0 * kernel[1..].iter().sum::<f64>();
        let mut mass = vec![0.0; cells];
        for (i, m) in even.iter().enumerate().filter(|(_, m)| **m > 0.0) {
            for (k, weight) in kernel.iter().enumerate() {
                let part = m * weight / total;
                mass[reflected(i as i64 + k as i64, cells)] += part;
                if k > 0 {
                    mass[reflected(i as i64 - k as i64, cells)] += part;
                }
            }
        }
        let depth_m = (0..=cells).map(|i| top + i as f64 * step_m).collect();
        Density { depth_m, mass }
    }

    /// The masses in `cells` cells of `step_m` from `top_m` down.
    fn rebinned(&self, top_m: f64, step_m: f64, cells: usize) -> Vec<f64> {
        let mut even = vec![0.0; cells];
        for (i, mass) in self.mass.iter().enumerate() {
            let (from, to) = (self.depth_m[i], self.depth_m[i + 1]);
            let first = (((from - top_m) / step_m) as usize).min(cells - 1);
            let last = (((to - top_m) / step_m) as usize).min(cells - 1);
            for (cell, even) in even.iter_mut().enumerate().take(last + 1).skip(first) {
                let cell_top = top_m + cell as f64 * step_m;
                let cell_bottom = if cell + 1 == cells { to } else { cell_top + step_m };
                let shared = (to.min(cell_bottom) - from.max(cell_top)).max(0.0);
                *even += mass * shared / (to - from);
            }
        }
        even
    }
}

/// `suitability ^ exponent` with the usual exponent quick.
pub(super) fn power(suitability: f64, exponent: f64) -> f64 {
    if exponent == 2.0 {
        suitability * suitability
    } else {
        suitability.powf(exponent)
    }
}

/// Index `i` reflected into `0..cells`, as often as needed.
fn reflected(i: i64, cells: usize) -> usize {
    let period = 2 * cells as i64;
    let i = i.rem_euclid(period);
    (if i < cells as i64 { i } else { period - 1 - i }) as usize
}

#[cfg(test)]
mod tests {
    use super::super::habitat::MemberHabitat;
    use super::*;

    /// Suitability 1 from 10 to 20 m of 40 m, constant area.
    fn slab(members: &[(f64, f64)]) -> ZoneHabitat {
        let depth_m: Vec<f64> = (0..=400).map(|i| f64::from(i) * 0.1).collect();
        let inside = |z: f64, (a, b): (f64, f64)| if z > a - 1e-9 && z < b + 1e-9 { 1.0 } else { 0.0 };
        let suitability = members
            .iter()
            .map(|m| depth_m.iter().map(|z| inside(*z, *m)).collect())
            .collect();
        let figures = MemberHabitat {
            fish_temp_degc: None,
            best_suitability: 1.0,
            best_depth_m: 10.0,
            best_temp_degc: 12.0,
            surface_suitability: 0.0,
            surface_less_bottom_degc: 5.0,
            soft_volume_m3: None,
        };
        ZoneHabitat {
            depth_m,
            area_m2: None,
            suitability,
            members: vec![figures; members.len()],
        }
    }

    #[test]
    fn the_band_of_an_even_slab_holds_its_middle_eight_tenths() {
        let band = depth_band(&slab(&[(10.0, 20.0)]), 2.0, 0.0).unwrap();
        assert!(
            (band.top_m - 11.0).abs() < 0.1 && (band.bottom_m - 19.0).abs() < 0.1,
            "{band:?}"
        );
        assert!((band.middle_m - 15.0).abs() < 0.05);
        assert_eq!(band.best_m, None, "all of the band is equally good");
    }

    #[test]
    fn the_best_depth_is_where_the_water_is_best_and_not_where_the_lake_is_widest() {
        let mut habitat = slab(&[(5.0, 35.0)]);
        // A tent over 5 to 35 m with its top at 22 m; the lake is ten times as wide at the surface.
        for (s, z) in habitat.suitability[0].iter_mut().zip(&habitat.depth_m) {
            *s = (1.0 - (z - 22.0_f64).abs() / 15.0).max(0.0);
        }
        habitat.area_m2 = Some(habitat.depth_m.iter().map(|z| 1e6 * (40.0 - 0.9 * z)).collect());
        let best_m = depth_band(&habitat, 2.0, 0.0).unwrap().best_m.unwrap();
        assert!((best_m - 22.0).abs() < 0.06, "by construction: {best_m}");
    }

    #[test]
    fn no_depth_stands_out_where_most_members_find_none() {
        let tent = |z: f64, top_m: f64| (1.0 - (z - top_m).abs() / 10.0).max(0.0);
        let mut habitat = slab(&[(0.0, 40.0), (0.0, 40.0), (0.0, 40.0)]);
        for (s, z) in habitat.suitability[0].iter_mut().zip(&habitat.depth_m) {
            *s = tent(*z, 20.0);
        }
        assert_eq!(
            depth_band(&habitat, 2.0, 0.0).unwrap().best_m,
            None,
            "one of three"
        );
        let (peaked, _) = habitat.suitability.split_first().unwrap();
        habitat.suitability[1] = peaked.clone();
        let best_m = depth_band(&habitat, 2.0, 0.0).unwrap().best_m.unwrap();
        assert!((best_m - 20.0).abs() < 0.06, "two of three: {best_m}");
    }

    #[test]
    fn no_depth_stands_out_where_members_find_it_far_apart() {
        let tent = |z: f64, top_m: f64| (1.0 - (z - top_m).abs() / 2.0).max(0.01);
        let best_m = |tops_m: [f64; 3]| {
            let mut habitat = slab(&[(0.0, 40.0); 3]);
            for (member, top_m) in habitat.suitability.iter_mut().zip(tops_m) {
                for (s, z) in member.iter_mut().zip(&habitat.depth_m) {
                    *s = tent(*z, top_m);
                }
            }
            depth_band(&habitat, 2.0, 0.0).unwrap().best_m
        };
        assert!(
            (best_m([19.5, 20.0, 20.5]).unwrap() - 20.0).abs() < 0.06,
            "by construction"
        );
        // The band goes from about the first to about the last, and so do the 10 and 90 % of the members' own.
        assert_eq!(best_m([6.0, 20.0, 34.0]), None);
    }

    #[test]
    fn members_that_disagree_and_an_unmeasured_profile_both_widen_the_band() {
        let width = |members: &[(f64, f64)], sd_m: f64| {
            let band = depth_band(&slab(members), 2.0, sd_m).unwrap();
            band.bottom_m - band.top_m
        };
        let one = width(&[(10.0, 20.0)], 0.0);
        assert!(width(&[(8.0, 18.0), (12.0, 22.0)], 0.0) > one + 1.0);
        let spread = width(&[(10.0, 20.0)], 1.5);
        // Exact: quantiles of U(10, 20) + N(0, 1.5), by numerical convolution: 10 % at 10.6817.
        assert!((spread - 8.6367).abs() < 0.1, "{spread}");
    }

    #[test]
    fn nothing_is_lost_at_the_surface_and_the_bottom() {
        let density = Density::pooled(&slab(&[(0.0, 2.0), (38.0, 40.0)]), 2.0)
            .unwrap()
            .spread(3.0);
        assert!((density.mass.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        assert_eq!(
            (
                reflected(-1, 5),
                reflected(5, 5),
                reflected(-6, 5),
                reflected(12, 5)
            ),
            (0, 4, 4, 2)
        );
    }

    #[test]
    fn water_without_any_suitable_depth_has_no_band() {
        assert_eq!(depth_band(&slab(&[(50.0, 60.0)]), 2.0, 1.5), None);
        let mixed = depth_band(&slab(&[(50.0, 60.0), (10.0, 20.0)]), 2.0, 0.0).unwrap();
        assert!(
            (mixed.middle_m - 15.0).abs() < 0.05,
            "the member without suitable water counts nothing"
        );
    }
}
