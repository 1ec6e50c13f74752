//! Surface temperature of a lake from air temperature alone.
//!
//! Piccolroaz, Toffolon & Majone 2013 (HESS 17:3323), in the notation of Toffolon et al. 2014 (L&O
//! 59:2185). Limits: no inflow, no level, no wind; poor in arms and in reservoirs that renew their water
//! within weeks. Air temperature must come from the station that the parameters were fitted with.

use std::f64::consts::TAU;

use super::relaxation::{Relaxation, step_one_day_degc};

/// Parameters of the air-to-water equation; see [`AirWater::slope_degc_per_day`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirWater {
    /// a1: constant part of the heat gain.
    pub a1_degc_per_day: f64,
    /// a2: gain per degree of air temperature.
    pub a2_per_day: f64,
    /// a3: loss per degree of water temperature, positive.
    pub a3_per_day: f64,
    /// a4: degrees above the threshold over which the mixed depth falls by a factor e, positive.
    pub a4_degc: f64,
    /// a5 and a6; absent in the 4-parameter form.
    pub season: Option<Season>,
    /// a7 and a8, the inverse stratification of winter; absent in the 4- and 6-parameter forms.
    pub cold: Option<Cold>,
    /// Th: deep-water temperature, from which stratification counts: 4 degC where a lake mixes twice a
    /// year, its winter minimum where it mixes once.
    pub threshold_degc: f64,
}

/// The seasonal term `a5 cos(2 pi (t / t_y - a6))`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Season {
    /// a5.
    pub a5_degc_per_day: f64,
    /// a6: share of the year at which the term is greatest.
    pub a6_frac: f64,
}

/// The winter mixed depth `exp((Tw - Th) / a7) + exp(-Tw / a8)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cold {
    /// a7, positive.
    pub a7_degc: f64,
    /// a8, positive.
    pub a8_degc: f64,
}

/// Air, water and season at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// Ta: air temperature.
    pub air_temp_degc: f64,
    /// Tw: water temperature at the surface.
    pub water_temp_degc: f64,
    /// t / t_y: share of the year gone since 1 January.
    pub year_frac: f64,
}

impl AirWater {
    /// Parameters from the notation of Piccolroaz et al. 2013, p1..p8 in order: `a5 = p1`, `a6 = p2`,
    /// `a1 = p3`, `a2 = p4`, `a3 = p4 - p5`, `a4 = p6`, `a7 = p7`, `a8 = p8`; Th = T_r.
    ///
    /// ```
    /// # use plungeline::physics::air_water::AirWater;
    /// let p = [0.0175, 0.467, 0.0230, 0.00655, -0.00257, 3.50, 13.32, 0.44]; // Table 2, satellite set
    /// assert!((AirWater::from_2013_notation(&p, 4.0).a3_per_day - 0.00912).abs() < 1e-12);
    /// ```
    pub fn from_2013_notation(p: &[f64; 8], threshold_degc: f64) -> AirWater {
        AirWater {
            a1_degc_per_day: p[2],
            a2_per_day: p[3],
            a3_per_day: p[3] - p[4],
            a4_degc: p[5],
            season: Some(Season {
                a5_degc_per_day: p[0],
                a6_frac: p[1],
            }),
            cold: Some(Cold {
                a7_degc: p[6],
                a8_degc: p[7],
            }),
            threshold_degc,
        }
    }

    /// First guess of the 4-parameter form from a lake's mean depth D:
    /// `a1 = -0.042 + 0.017 ln D`, `a2 = 0.223 D^-0.635`, `a3 = 0.175 D^-0.540`, `a4 = 35.4 D^-0.360`.
    ///
    /// D = `mean_depth_m`, positive; Th = `threshold_degc`. Regressions over 14 lakes, Piccolroaz 2016
    /// (AIOL 7:36) Table 2, where "log" is printed and the natural logarithm fits the lakes' own values.
    pub fn first_guess_4(mean_depth_m: f64, threshold_degc: f64) -> AirWater {
        AirWater {
            a1_degc_per_day: -0.042 + 0.017 * mean_depth_m.ln(),
            a2_per_day: 0.223 * mean_depth_m.powf(-0.635),
            a3_per_day: 0.175 * mean_depth_m.powf(-0.540),
            a4_degc: 35.4 * mean_depth_m.powf(-0.360),
            season: None,
            cold: None,
            threshold_degc,
        }
    }

    /// First guess of the 6-parameter form from a lake's mean depth D: `a1 = 0.488 - 0.096 ln D`,
    /// `a2 = 0.207 D^-0.672`, `a3 = 0.262 D^-0.659`, `a4 = 31.3 D^-0.330`, `a5 = 0.843 D^-0.732`,
    /// `a6 = 0.628 - 0.030 ln D`. Arguments and source as for [`AirWater::first_guess_4`].
    pub fn first_guess_6(mean_depth_m: f64, threshold_degc: f64) -> AirWater {
        AirWater {
            a1_degc_per_day: 0.488 - 0.096 * mean_depth_m.ln(),
            a2_per_day: 0.207 * mean_depth_m.powf(-0.672),
            a3_per_day: 0.262 * mean_depth_m.powf(-0.659),
            a4_degc: 31.3 * mean_depth_m.powf(-0.330),
            season: Some(Season {
                a5_degc_per_day: 0.843 * mean_depth_m.powf(-0.732),
                a6_frac: 0.628 - 0.030 * mean_depth_m.ln(),
            }),
            cold: None,
            threshold_degc,
        }
    }

    /// Mixed depth as a share of its greatest, a crude measure of stratification:
    /// `exp(-(Tw - Th) / a4)` for Tw >= Th; below, 1, or with a7 and a8 `exp((Tw - Th) / a7) + exp(-Tw / a8)`
    /// (Toffolon et al. 2014, Eq. 4; it exceeds 1 just above 0 degC, as published).
    ///
    /// Tw = `water_temp_degc`.
    pub fn mixed_depth_frac(&self, water_temp_degc: f64) -> f64 {
        let above_degc = water_temp_degc - self.threshold_degc;
        if above_degc >= 0.0 {
            return (-above_degc / self.a4_degc).exp();
        }
        match self.cold {
            Some(cold) => (above_degc / cold.a7_degc).exp() + (-water_temp_degc / cold.a8_degc).exp(),
            None => 1.0,
        }
    }

    /// Rate of change of the surface temperature.
    ///
    /// ```text
    /// dTw/dt = (1/d) [a1 + a2 Ta - a3 Tw + a5 cos(2 pi (t/t_y - a6))]
    /// ```
    ///
    /// Ta, Tw, t/t_y in [`Moment`]; d = [`AirWater::mixed_depth_frac`]; in degC a day, warming positive.
    /// Toffolon et al. 2014, Eqs 3-4 (Piccolroaz et al. 2013, Eqs 6-7).
    ///
    /// ```
    /// # use plungeline::physics::air_water::{AirWater, Moment, ZURICH_4};
    /// let moment = Moment { air_temp_degc: 20.0, water_temp_degc: 18.0, year_frac: 0.5 };
    /// // (0.0650 + 0.0226 * 20 - 0.0222 * 18) / exp(-14 / 9.46) = 0.51569
    /// assert!((ZURICH_4.slope_degc_per_day(moment) - 0.51569).abs() < 1e-4);
    /// ```
    pub fn slope_degc_per_day(&self, moment: Moment) -> f64 {
        self.equation(
            moment.air_temp_degc,
            self.season_degc_per_day(moment.year_frac),
            moment.water_temp_degc,
        )
        .slope_degc_per_day(moment.water_temp_degc)
    }

    /// Temperature at which the water would rest under constant air and season: `(a1 + a2 Ta + a5 cos(..)) / a3`,
    /// and not below 0.
    pub fn equilibrium_degc(&self, air_temp_degc: f64, year_frac: f64) -> f64 {
        let gain =
            self.a1_degc_per_day + self.a2_per_day * air_temp_degc + self.season_degc_per_day(year_frac);
        (gain / self.a3_per_day).max(0.0)
    }

    /// Surface temperature day by day from daily mean air temperature.
    ///
    /// `air_temp_degc` and `year_frac` belong to the middle of each day, shape `[day]`; between, both run
    /// straight. `start_degc` is the water on the first day. Returns `[day]`, the first being the start;
    /// never below 0 degC. Solved by substeps chosen from the rate ([`super::relaxation`]).
    pub fn run_degc(&self, start_degc: f64, air_temp_degc: &[f64], year_frac: &[f64]) -> Vec<f64> {
        self.run_fine_degc(start_degc, air_temp_degc, year_frac, 1)
    }

    /// As [`AirWater::run_degc`] with `fineness` times the substeps, to judge the solution by.
    pub fn run_fine_degc(
        &self,
        start_degc: f64,
        air_temp_degc: &[f64],
        year_frac: &[f64],
        fineness: u32,
    ) -> Vec<f64> {
        let days = air_temp_degc.len().min(year_frac.len());
        let mut temps_degc = Vec::with_capacity(days);
        if days == 0 {
            return temps_degc;
        }
        let mut water_degc = start_degc.max(0.0);
        let mut season = self.season_degc_per_day(year_frac[0]);
        temps_degc.push(water_degc);
        for day in 1..days {
            let (air, next_air) = (air_temp_degc[day - 1], air_temp_degc[day]);
            // Within a day the cosine is straight to 4e-5 of a5.
            let next_season = self.season_degc_per_day(year_frac[day]);
            water_degc = step_one_day_degc(water_degc, fineness, |share, water_degc| {
                self.equation(
                    air + share * (next_air - air),
                    season + share * (next_season - season),
                    water_degc,
                )
            });
            season = next_season;
            temps_degc.push(water_degc);
        }
        temps_degc
    }

    fn season_degc_per_day(&self, year_frac: f64) -> f64 {
        self.season
            .map_or(0.0, |s| s.a5_degc_per_day * (TAU * (year_frac - s.a6_frac)).cos())
    }

    fn equation(&self, air_temp_degc: f64, season_degc_per_day: f64, water_temp_degc: f64) -> Relaxation {
        let thinning = 1.0 / self.mixed_depth_frac(water_temp_degc);
        Relaxation {
            drive_degc_per_day: thinning
                * (self.a1_degc_per_day + self.a2_per_day * air_temp_degc + season_degc_per_day),
            rate_per_day: thinning * self.a3_per_day,
        }
    }
}

const fn published_8(a: [f64; 8]) -> AirWater {
    AirWater {
        a1_degc_per_day: a[0],
        a2_per_day: a[1],
        a3_per_day: a[2],
        a4_degc: a[3],
        season: Some(Season {
            a5_degc_per_day: a[4],
            a6_frac: a[5],
        }),
        cold: Some(Cold {
            a7_degc: a[6],
            a8_degc: a[7],
        }),
        threshold_degc: 4.0,
    }
}

/// Sparkling Lake, 8 parameters (Toffolon et al. 2014, Table 3); RMSE 0.86 degC.
pub const SPARKLING_8: AirWater = published_8([0.214, 0.0348, 0.0466, 15.95, 0.191, 0.538, 14.57, 0.09]);
/// Lake Zurich, 8 parameters (Toffolon et al. 2014, Table 3); RMSE 0.90 degC.
pub const ZURICH_8: AirWater = published_8([0.113, 0.0198, 0.0236, 7.85, 0.0356, 0.619, 8.74, 0.28]);
/// Lake Constance, 8 parameters (Toffolon et al. 2014, Table 3); RMSE 1.18, in validation 1.34 degC.
pub const CONSTANCE_8: AirWater = published_8([0.157, 0.0166, 0.0283, 5.40, 0.0764, 0.633, 10.82, 0.25]);
/// Lake Zurich, 4 parameters (Toffolon et al. 2014, Table 4); RMSE 0.92 degC.
pub const ZURICH_4: AirWater = AirWater {
    a1_degc_per_day: 0.0650,
    a2_per_day: 0.0226,
    a3_per_day: 0.0222,
    a4_degc: 9.46,
    season: None,
    cold: None,
    threshold_degc: 4.0,
};
