//! Suitability by depth, and what follows from it: suitable volume, best water, depth of the best.

use crate::column::ZoneWater;
use crate::math::interpolate::trapezoid;
use crate::math::quantiles::median;
use crate::species::Species;

use super::depth::power;

/// Finest step of depth.
const STEP_MIN_M: f64 = 0.1;
/// Most steps in a profile; deeper water takes longer steps.
const STEPS_MAX: f64 = 800.0;
/// Water that counts as the surface.
const SURFACE_DEPTH_M: f64 = 3.0;

/// The habitat of one species in one zone, by member.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneHabitat {
    /// Fine depths, increasing; they hold every point of the profile. Shape `[depth]`.
    pub depth_m: Vec<f64>,
    /// Area at each of them; `None` where it is not known. Shape `[depth]`.
    pub area_m2: Option<Vec<f64>>,
    /// Suitability, `suitability[member][depth]`, 0 to 1.
    pub suitability: Vec<Vec<f64>>,
    /// Figures by member. Shape `[member]`.
    pub members: Vec<MemberHabitat>,
}

/// The habitat of one member in figures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MemberHabitat {
    /// Greatest suitability at any depth.
    pub best_suitability: f64,
    /// Depth of it; the shallowest where several are equal.
    pub best_depth_m: f64,
    /// Temperature there.
    pub best_temp_degc: f64,
    /// Greatest suitability in the uppermost 3 m.
    pub surface_suitability: f64,
    /// Surface less bottom temperature.
    pub surface_less_bottom_degc: f64,
    /// Suitable volume, `integral A S dz`; `None` without areas.
    pub soft_volume_m3: Option<f64>,
    /// Mean temperature where the fish are, `integral A S^g T dz / integral A S^g dz` with the exponent of the
    /// depth band (constant area where it is not known); `None` without suitable water.
    pub fish_temp_degc: Option<f64>,
}

impl ZoneHabitat {
    /// The habitat of `species` in `water`; `None` where the water has no profile, or where it is not known which temperature
    /// suits the species.
    ///
    /// Temperature and oxygen are linear between the profile's points; suitability is taken on steps of
    /// 0.1 m (longer below 80 m), which hold all points. Where oxygen is not known, suitability is that
    /// of temperature alone. Of a zone with parts each part has a suitability of its own, and the zone's at a depth is their
    /// mean by area: half an arm of cold river and half of warm lake are not an arm of mild water.
    pub fn new(water: &ZoneWater, species: &Species) -> Option<ZoneHabitat> {
        if water.depth_m.is_empty() || water.temp_degc.is_empty() {
            return None;
        }
        let grid = Grid::new(&water.depth_m);
        let depth_m = grid.on(&water.depth_m);
        let area_m2 = water.area_m2.as_ref().map(|area| grid.on(area));
        let parts_m2: Vec<Vec<f64>> = water.parts.iter().map(|part| grid.on(&part.area_m2)).collect();
        let mut suitability = Vec::with_capacity(water.temp_degc.len());
        let mut members = Vec::with_capacity(water.temp_degc.len());
        for (m, temp) in water.temp_degc.iter().enumerate() {
            let temp = grid.on(temp);
            let oxygen = water.oxygen_mg_l.as_ref().map(|by_member| grid.on(&by_member[m]));
            let whole = suited(species, &temp, oxygen.as_deref())?;
            let exponent = species.depth.exponent;
            let (figures, by_depth) = if water.parts.is_empty() {
                let part = Part {
                    area_m2: area_m2.as_deref(),
                    temp_degc: &temp,
                    suitability: &whole,
                };
                (figures(&depth_m, &[part], &temp, exponent), whole)
            } else {
                let mut of_parts: Vec<(Vec<f64>, Vec<f64>)> = Vec::with_capacity(water.parts.len());
                for part in &water.parts {
                    let own = grid.on(&part.temp_degc[m]);
                    let suited = suited(species, &own, Some(&grid.on(&part.oxygen_mg_l[m])))?;
                    of_parts.push((own, suited));
                }
                let parts: Vec<Part<'_>> = of_parts
                    .iter()
                    .zip(&parts_m2)
                    .map(|((temp_degc, suitability), area_m2)| Part {
                        area_m2: Some(area_m2),
                        temp_degc,
                        suitability,
                    })
                    .collect();
                let mean = mean_suitability(&parts, &whole);
                (figures(&depth_m, &parts, &temp, exponent), mean)
            };
            members.push(figures);
            suitability.push(by_depth);
        }
        Some(ZoneHabitat {
            depth_m,
            area_m2,
            suitability,
            members,
        })
    }

    /// Median over members of one figure.
    pub fn median_of(&self, figure: impl Fn(&MemberHabitat) -> f64) -> Option<f64> {
        median(&self.members.iter().map(figure).collect::<Vec<_>>())
    }
}

/// One member's water in a part of a zone, on the fine depths.
struct Part<'a> {
    /// `None` where it is not known.
    area_m2: Option<&'a [f64]>,
    temp_degc: &'a [f64],
    suitability: &'a [f64],
}

fn suited(species: &Species, temp_degc: &[f64], oxygen_mg_l: Option<&[f64]>) -> Option<Vec<f64>> {
    let oxygen = |i: usize| oxygen_mg_l.map(|oxygen| oxygen[i]);
    let temps = temp_degc.iter().enumerate();
    temps.map(|(i, t)| species.suitability(*t, oxygen(i))).collect()
}

/// Mean over the parts by their areas; where none has any, that of the zone's own profile.
fn mean_suitability(parts: &[Part<'_>], whole: &[f64]) -> Vec<f64> {
    let at = |i: usize| {
        let areas = parts
            .iter()
            .map(|part| (part.area_m2.map_or(0.0, |area| area[i]), part.suitability[i]));
        let (sum, area_m2) = areas.fold((0.0, 0.0), |(sum, all), (area, s)| (sum + area * s, all + area));
        if area_m2 > 0.0 { sum / area_m2 } else { whole[i] }
    };
    (0..whole.len()).map(at).collect()
}

/// Figures of one member; `temp_degc` is the zone's own profile.
fn figures(depth_m: &[f64], parts: &[Part<'_>], temp_degc: &[f64], exponent: f64) -> MemberHabitat {
    // What has no area is no water of the part.
    let has_water = |part: &Part<'_>, i: usize| part.area_m2.is_none_or(|area| i == 0 || area[i] > 0.0);
    let (mut best, mut surface_suitability) = ((0, 0), 0.0_f64);
    for (p, part) in parts.iter().enumerate() {
        for (i, &s) in part
            .suitability
            .iter()
            .enumerate()
            .filter(|(i, _)| has_water(part, *i))
        {
            if s > parts[best.0].suitability[best.1] {
                best = (p, i);
            }
            if depth_m[i] <= SURFACE_DEPTH_M {
                surface_suitability = surface_suitability.max(s);
            }
        }
    }
    let weighted = |of: &dyn Fn(&Part<'_>, usize) -> f64| -> f64 {
        let at = |i: usize| parts.iter().map(|part| of(part, i)).sum::<f64>();
        trapezoid(depth_m, &(0..depth_m.len()).map(at).collect::<Vec<_>>())
    };
    let known = parts.iter().all(|part| part.area_m2.is_some());
    let area = |part: &Part<'_>, i: usize| part.area_m2.map_or(1.0, |area| area[i]);
    let weight = |part: &Part<'_>, i: usize| area(part, i) * power(part.suitability[i], exponent);
    let total = weighted(&weight);
    let heat = || weighted(&|part, i| weight(part, i) * part.temp_degc[i]);
    let (part, i) = (&parts[best.0], best.1);
    MemberHabitat {
        fish_temp_degc: (total > 0.0).then(|| heat() / total),
        best_suitability: part.suitability[i],
        best_depth_m: depth_m[i],
        best_temp_degc: part.temp_degc[i],
        surface_suitability,
        surface_less_bottom_degc: temp_degc[0] - temp_degc[temp_degc.len() - 1],
        soft_volume_m3: known.then(|| weighted(&|part, i| area(part, i) * part.suitability[i])),
    }
}

/// Fine depths between the points of a profile: for each the point above and the part of the way down.
struct Grid {
    place: Vec<(usize, f64)>,
}

impl Grid {
    fn new(depth_m: &[f64]) -> Grid {
        let span_m = depth_m[depth_m.len() - 1] - depth_m[0];
        let step_m = STEP_MIN_M.max(span_m / STEPS_MAX);
        let mut place = Vec::new();
        for (i, pair) in depth_m.windows(2).enumerate() {
            let parts = ((pair[1] - pair[0]) / step_m).ceil().max(1.0) as usize;
            place.extend((0..parts).map(|k| (i, k as f64 / parts as f64)));
        }
        place.push((depth_m.len() - 1, 0.0));
        Grid { place }
    }

    /// Values of the points, on the fine depths.
    fn on(&self, value: &[f64]) -> Vec<f64> {
        let at = |&(i, part): &(usize, f64)| match part {
            0.0 => value[i],
            _ => value[i] + part * (value[i + 1] - value[i]),
        };
        self.place.iter().map(at).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::column::{PartKind, ProfileBasis, ZonePart};
    use crate::lake::ZoneId;
    use crate::species::builtin;

    fn water(temp_degc: Vec<Vec<f64>>, area_m2: Option<Vec<f64>>) -> ZoneWater {
        ZoneWater {
            zone: ZoneId::new("main"),
            depth_m: vec![0.0, 10.0, 20.0],
            area_m2,
            temp_degc,
            oxygen_mg_l: None,
            parts: Vec::new(),
            max_depth_m: Some(20.0),
            volume_m3: None,
            basis: ProfileBasis::SeasonOnly,
            closed: false,
        }
    }

    #[test]
    fn fully_suitable_water_has_the_whole_volume() {
        let rainbow = builtin("rainbow-trout").unwrap();
        let water = water(vec![vec![15.0, 14.0, 13.0]], Some(vec![100.0, 50.0, 0.0]));
        let habitat = ZoneHabitat::new(&water, &rainbow).unwrap();
        assert!(
            (habitat.members[0].soft_volume_m3.unwrap() - 1000.0).abs() < 1e-9,
            "75 * 10 + 25 * 10"
        );
        assert_eq!(habitat.members[0].best_depth_m, 0.0, "the shallowest of equals");
        assert_eq!(habitat.members[0].surface_less_bottom_degc, 2.0);
    }

    #[test]
    fn the_best_water_of_a_warm_lake_lies_deep_and_the_surface_is_poor() {
        let kings = builtin("landlocked-chinook").unwrap();
        let habitat = ZoneHabitat::new(&water(vec![vec![25.0, 13.0, 8.0]], None), &kings).unwrap();
        let figures = habitat.members[0];
        assert_eq!(figures.soft_volume_m3, None);
        assert_eq!(figures.best_suitability, 1.0);
        assert!(
            (figures.best_temp_degc - 15.0).abs() < 0.15,
            "kings' curve reaches 1 at 15 degC; step 0.12 degC"
        );
        assert!(
            (figures.surface_suitability - kings.suitability(21.4, None).unwrap()).abs() < 1e-9,
            "at 3 m: 21.4 degC"
        );
    }

    #[test]
    fn half_an_arm_of_cold_river_and_half_of_hot_lake_are_not_an_arm_of_mild_water() {
        let rainbow = builtin("rainbow-trout").unwrap();
        let part = |degc: f64, area_m2: f64| ZonePart {
            kind: PartKind::Reach {
                from_m: None,
                to_m: None,
            },
            area_m2: vec![area_m2; 3],
            temp_degc: vec![vec![degc; 3]],
            oxygen_mg_l: vec![vec![9.0; 3]],
        };
        let mut arm = water(vec![vec![14.5; 3]], Some(vec![100.0; 3]));
        arm.oxygen_mg_l = Some(vec![vec![9.0; 3]]);
        arm.parts = vec![part(3.0, 75.0), part(26.0, 25.0)];
        let habitat = ZoneHabitat::new(&arm, &rainbow).unwrap();
        let (cold, hot) = (
            rainbow.suitability(3.0, Some(9.0)).unwrap(),
            rainbow.suitability(26.0, Some(9.0)).unwrap(),
        );
        let figures = habitat.members[0];
        // Three quarters of one and a quarter of the other, over 20 m and 100 m2.
        let share = 0.75 * cold + 0.25 * hot;
        assert!((figures.soft_volume_m3.unwrap() - 2000.0 * share).abs() < 1e-9);
        assert!(habitat.suitability[0].iter().all(|s| (s - share).abs() < 1e-12));
        assert_eq!(figures.best_suitability, cold.max(hot));
        assert!(
            share < rainbow.suitability(14.5, Some(9.0)).unwrap() - 0.3,
            "mild water would suit it: {share}"
        );
    }

    #[test]
    fn a_profile_of_one_point_has_no_volume_and_does_not_panic() {
        let rainbow = builtin("rainbow-trout").unwrap();
        let mut one = water(vec![vec![15.0]], Some(vec![100.0]));
        one.depth_m = vec![0.0];
        assert_eq!(
            ZoneHabitat::new(&one, &rainbow).unwrap().members[0].soft_volume_m3,
            Some(0.0)
        );
        one.depth_m = Vec::new();
        assert_eq!(ZoneHabitat::new(&one, &rainbow), None);
    }
}
