//! The operating rule of the dam: flood space in winter, refill in spring, irrigation in summer and autumn.

use plungeline::units::{M_PER_FT, M3S_PER_CFS};

use super::bowl::Bowl;

/// Irrigation and river releases by month, January first, cfs.
const DEMAND_CFS: [f64; 12] = [
    160.0, 160.0, 190.0, 330.0, 780.0, 1080.0, 1290.0, 1240.0, 880.0, 430.0, 190.0, 160.0,
];
/// Highest pool that flood control allows: day of the year and level, ft; linear between.
const CEILING_FT: [(f64, f64); 8] = [
    (0.0, 812.0),
    (60.0, 812.0),
    (110.0, 830.0),
    (155.0, 842.0),
    (245.0, 842.0),
    (290.0, 828.0),
    (325.0, 812.0),
    (366.0, 812.0),
];
/// Cuts of the demand when the pool is low: pool below, ft, and share that is met.
const CUTS: [(f64, f64); 4] = [(741.0, 0.18), (750.0, 0.40), (760.0, 0.62), (775.0, 0.85)];
/// Largest release through outlet works and gates, cfs.
const LARGEST_CFS: f64 = 6500.0;
/// Smallest release, for the river below, cfs.
const SMALLEST_CFS: f64 = 45.0;
/// Days over which water above the ceiling is let go.
const EVACUATION_DAYS: f64 = 6.0;

/// What the operator knows in the morning.
#[derive(Clone, Copy)]
pub struct Morning {
    pub day_of_year: f64,
    pub level_m: f64,
    pub inflow_m3s: f64,
    pub yesterday_release_m3s: f64,
}

/// The release of the day.
pub fn release_m3s(bowl: &Bowl, now: Morning) -> f64 {
    let level_ft = now.level_m / M_PER_FT;
    let met = CUTS
        .iter()
        .find(|(below_ft, _)| level_ft < *below_ft)
        .map_or(1.0, |(_, share)| *share);
    let demand_m3s = (met * demand_cfs(now)).max(SMALLEST_CFS) * M3S_PER_CFS;
    let ceiling_m = ceiling_ft(now.day_of_year) * M_PER_FT;
    let over_m3 = bowl.volume_m3(now.level_m) - bowl.volume_m3(ceiling_m);
    let flood_m3s = if over_m3 > 0.0 {
        now.inflow_m3s + over_m3 / (EVACUATION_DAYS * 86_400.0)
    } else {
        0.0
    };
    let wanted_m3s = demand_m3s.max(flood_m3s).min(LARGEST_CFS * M3S_PER_CFS);
    // Gates move by a third of the way a day, and by at most 400 cfs.
    let step_m3s =
        (0.35 * (wanted_m3s - now.yesterday_release_m3s)).clamp(-400.0 * M3S_PER_CFS, 700.0 * M3S_PER_CFS);
    // Gates are set to whole fives of cfs.
    let set_cfs = (now.yesterday_release_m3s + step_m3s) / M3S_PER_CFS;
    5.0 * (set_cfs / 5.0).round() * M3S_PER_CFS
}

fn demand_cfs(now: Morning) -> f64 {
    // Linear between the middles of the months.
    let place = now.day_of_year / 365.25 * 12.0 - 0.5 + 12.0;
    let (left, part) = (place.floor() as usize % 12, place - place.floor());
    DEMAND_CFS[left] + part * (DEMAND_CFS[(left + 1) % 12] - DEMAND_CFS[left])
}

fn ceiling_ft(day_of_year: f64) -> f64 {
    let at = CEILING_FT
        .partition_point(|(day, _)| *day <= day_of_year)
        .clamp(1, CEILING_FT.len() - 1);
    let ((day_a, ft_a), (day_b, ft_b)) = (CEILING_FT[at - 1], CEILING_FT[at]);
    ft_a + (ft_b - ft_a) * (day_of_year - day_a) / (day_b - day_a)
}
