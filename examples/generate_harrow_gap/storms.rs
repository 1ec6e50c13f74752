//! Storm systems: a seasonal point process with wet and dry spells, and the scripted events.

use super::dice::{Dice, exp};
use super::hours::{Ymd, hour_at, hours_in_all, season_of};

/// One storm system.
#[derive(Clone, Copy)]
pub struct Storm {
    /// Hour of its middle.
    pub centre_h: f64,
    /// Half its length.
    pub half_h: f64,
    /// Rain at the lake over the whole storm.
    pub total_mm: f64,
    /// Fall of pressure at its middle.
    pub dip_hpa: f64,
    /// Wind that it adds at its middle.
    pub wind_m_s: f64,
    /// Warmth ahead of it.
    pub warm_degc: f64,
    /// Cold behind it.
    pub cold_degc: f64,
    /// Its rain over the Wicket basin as a share of the usual.
    pub wicket_share: f64,
}

/// Storms a day by month, January first, in an average spell.
const RATE_PER_DAY: [f64; 12] = [
    0.17, 0.16, 0.14, 0.10, 0.05, 0.018, 0.010, 0.012, 0.025, 0.07, 0.13, 0.17,
];

/// Spans without any drawn storm, so that the demonstration mornings are what they are said to be:
/// `(from, to)` as year, month, day; midnight UTC.
const QUIET: [(Ymd, Ymd); 4] = [
    ((2025, 7, 15), (2025, 8, 2)),
    ((2025, 10, 1), (2025, 10, 13)),
    ((2026, 1, 9), (2026, 1, 20)),
    ((2026, 2, 23), (2026, 3, 17)),
];

/// The scripted storm: a warm, wet flow over the Sorrel basin, in the rain shadow of which Wicket lies.
pub fn march_storm() -> Storm {
    Storm {
        centre_h: hour_at(2026, 3, 9, 18) as f64,
        half_h: 15.0,
        total_mm: 22.0,
        dip_hpa: 13.0,
        wind_m_s: 6.0,
        warm_degc: 4.0,
        cold_degc: 2.0,
        wicket_share: 0.15,
    }
}

/// All storms, in order of time.
pub fn storms() -> Vec<Storm> {
    let mut dice = Dice::new(1);
    let hours = hours_in_all();
    let mut found = Vec::new();
    let (mut wet, mut year, mut year_factor) = (false, 0, 1.0);
    let mut hour = 12;
    while hour < hours {
        let season = season_of(hour);
        if season.water_year != year {
            year = season.water_year;
            year_factor = exp(0.24 * dice.normal() - 0.029);
        }
        let switch = if wet { 1.0 / 12.0 } else { 1.0 / 15.0 };
        if dice.uniform() < switch {
            wet = !wet;
        }
        let spell = if wet { 1.75 } else { 0.40 };
        let rate = RATE_PER_DAY[season.month as usize - 1] * spell * year_factor;
        let (arrives, storm) = (dice.uniform() < rate, draw(hour, season.summer, &mut dice));
        if arrives && !is_quiet(storm.centre_h) {
            found.push(storm);
        }
        hour += 24;
    }
    found.push(march_storm());
    found.sort_by(|a, b| a.centre_h.total_cmp(&b.centre_h));
    found
}

fn draw(hour: usize, summer: f64, dice: &mut Dice) -> Storm {
    let half_h = 6.0 + 12.0 * dice.uniform() * (1.0 - 0.6 * summer);
    let total_mm = (3.0 + dice.gamma_halves(3, 10.5)).min(62.0) * (1.0 - 0.65 * summer);
    let strength = 0.6 + 0.8 * dice.uniform();
    let centre_h = hour as f64 - 12.0 + 24.0 * dice.uniform();
    Storm {
        centre_h,
        half_h,
        total_mm,
        dip_hpa: strength * (12.0 - 8.0 * summer),
        wind_m_s: strength * (5.0 - 1.5 * summer),
        warm_degc: 1.5 * strength,
        cold_degc: strength * (2.6 + 2.4 * summer),
        wicket_share: 0.7 + 0.6 * dice.uniform(),
    }
}

fn is_quiet(centre_h: f64) -> bool {
    QUIET.iter().any(|&(from, to)| {
        let (from_h, to_h) = (hour_at(from.0, from.1, from.2, 0), hour_at(to.0, to.1, to.2, 0));
        centre_h >= from_h as f64 && centre_h < to_h as f64
    })
}
