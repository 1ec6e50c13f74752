//! River temperature from air temperature and discharge.
//!
//! Toffolon & Piccolroaz 2015 (ERL 10:114011) and the logistic of Mohseni et al. 1998 (WRR 34:2685).
//! Daily RMSE in calibration and validation, 8 parameters: lowland 0.62 and 0.76, regulated 0.58 and
//! 0.75, snow-fed 0.61 and 0.62 degC; logistic 0.98 and 1.10, 0.71 and 0.86, 0.89 and 0.89 degC.

use std::f64::consts::TAU;

use super::relaxation::{Relaxation, step_one_day_degc};

/// Parameters of the 8-parameter river equation; see [`RiverTemp::slope_degc_per_day`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RiverTemp {
    /// a1.
    pub a1_degc_per_day: f64,
    /// a2.
    pub a2_per_day: f64,
    /// a3, positive.
    pub a3_per_day: f64,
    /// a4: power of the relative discharge that the depth follows.
    pub a4_power: f64,
    /// a5.
    pub a5_degc_per_day: f64,
    /// a6.
    pub a6_degc_per_day: f64,
    /// a7: share of the year at which the water that flows in is warmest.
    pub a7_frac: f64,
    /// a8, not negative.
    pub a8_per_day: f64,
}

const fn published(a: [f64; 8]) -> RiverTemp {
    RiverTemp {
        a1_degc_per_day: a[0],
        a2_per_day: a[1],
        a3_per_day: a[2],
        a4_power: a[3],
        a5_degc_per_day: a[4],
        a6_degc_per_day: a[5],
        a7_frac: a[6],
        a8_per_day: a[7],
    }
}

/// Natural lowland river (Toffolon & Piccolroaz 2015, Suppl. Table 1).
pub const LOWLAND: RiverTemp = published([0.889, 0.649, 0.765, 0.129, 2.318, 1.536, 0.603, 0.241]);
/// Regulated river (Toffolon & Piccolroaz 2015, Suppl. Table 1).
pub const REGULATED: RiverTemp = published([0.346, 0.219, 0.178, 0.718, 7.773, 2.217, 0.529, 1.280]);
/// Snow-fed river (Toffolon & Piccolroaz 2015, Suppl. Table 1).
pub const SNOW_FED: RiverTemp = published([4.794, 0.629, 1.410, 0.270, 0.0, 4.912, 0.582, 0.637]);

/// What drives a river on one day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RiverDay {
    /// Ta: air temperature.
    pub air_temp_degc: f64,
    /// q = Q / Qmean, positive.
    pub discharge_ratio: f64,
    /// t / t_y: share of the year gone since 1 January.
    pub year_frac: f64,
}

impl RiverDay {
    fn between(self, next: RiverDay, share: f64) -> RiverDay {
        // The year begins anew at 1: the way forward is the short one.
        let ahead = (next.year_frac - self.year_frac).rem_euclid(1.0);
        RiverDay {
            air_temp_degc: self.air_temp_degc + share * (next.air_temp_degc - self.air_temp_degc),
            discharge_ratio: self.discharge_ratio + share * (next.discharge_ratio - self.discharge_ratio),
            year_frac: self.year_frac + share * ahead,
        }
    }
}

impl RiverTemp {
    /// Rate of change of the river's temperature.
    ///
    /// ```text
    /// dTw/dt = (1/d) [a1 + a2 Ta - a3 Tw + q (a5 + a6 cos(2 pi (t/t_y - a7)) - a8 Tw)],  d = q^a4
    /// ```
    ///
    /// Ta, q, t/t_y in [`RiverDay`], Tw = `water_temp_degc`; in degC a day, warming positive. q must be
    /// positive: a river without water has no temperature. Toffolon & Piccolroaz 2015, Eq. 7.
    pub fn slope_degc_per_day(&self, day: RiverDay, water_temp_degc: f64) -> f64 {
        self.equation(day).slope_degc_per_day(water_temp_degc)
    }

    /// Temperature at which the river would rest under a constant day; not below 0.
    ///
    /// ```
    /// # use plungeline::physics::river_temp::{LOWLAND, RiverDay};
    /// let day = RiverDay { air_temp_degc: 15.0, discharge_ratio: 1.0, year_frac: 0.55 };
    /// assert!((LOWLAND.equilibrium_degc(day) - 14.308).abs() < 1e-3);
    /// ```
    pub fn equilibrium_degc(&self, day: RiverDay) -> f64 {
        let equation = self.equation(day);
        (equation.drive_degc_per_day / equation.rate_per_day).max(0.0)
    }

    /// River temperature day by day.
    ///
    /// `days` belong to the middle of each day, shape `[day]`; between, they run straight. `start_degc` is
    /// the water on the first day. Returns `[day]`, the first being the start; never below 0 degC. Solved
    /// by substeps chosen from the rate ([`super::relaxation`]): a3/d is near 1 a day, and an explicit
    /// step of a day would be unstable from 2.
    pub fn run_degc(&self, start_degc: f64, days: &[RiverDay]) -> Vec<f64> {
        self.run_fine_degc(start_degc, days, 1)
    }

    /// As [`RiverTemp::run_degc`] with `fineness` times the substeps, to judge the solution by.
    pub fn run_fine_degc(&self, start_degc: f64, days: &[RiverDay], fineness: u32) -> Vec<f64> {
        let mut water_degc = start_degc.max(0.0);
        let mut temps_degc = Vec::with_capacity(days.len());
        if !days.is_empty() {
            temps_degc.push(water_degc);
        }
        for pair in days.windows(2) {
            water_degc = step_one_day_degc(water_degc, fineness, |share, _| {
                self.equation(pair[0].between(pair[1], share))
            });
            temps_degc.push(water_degc);
        }
        temps_degc
    }

    fn equation(&self, day: RiverDay) -> Relaxation {
        let q = day.discharge_ratio;
        let thinning = q.powf(-self.a4_power);
        let season = self.a6_degc_per_day * (TAU * (day.year_frac - self.a7_frac)).cos();
        Relaxation {
            drive_degc_per_day: thinning
                * (self.a1_degc_per_day
                    + self.a2_per_day * day.air_temp_degc
                    + q * (self.a5_degc_per_day + season)),
            rate_per_day: thinning * (self.a3_per_day + q * self.a8_per_day),
        }
    }
}

/// Parameters of the logistic river temperature; see [`Logistic::river_temp_degc`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Logistic {
    /// mu: lowest river temperature.
    pub mu_degc: f64,
    /// alpha: highest river temperature.
    pub alpha_degc: f64,
    /// beta: air temperature at the steepest point.
    pub beta_degc: f64,
    /// gamma: steepness per degree of air temperature.
    pub gamma_per_degc: f64,
}

/// Natural lowland river (Toffolon & Piccolroaz 2015, Suppl. Table 3).
pub const LOGISTIC_LOWLAND: Logistic = Logistic {
    mu_degc: 0.0,
    alpha_degc: 21.2,
    beta_degc: 11.3,
    gamma_per_degc: 0.183,
};
/// Regulated river (Toffolon & Piccolroaz 2015, Suppl. Table 3).
pub const LOGISTIC_REGULATED: Logistic = Logistic {
    mu_degc: 2.67,
    alpha_degc: 9.00,
    beta_degc: 5.36,
    gamma_per_degc: 0.280,
};
/// Snow-fed river (Toffolon & Piccolroaz 2015, Suppl. Table 3).
pub const LOGISTIC_SNOW_FED: Logistic = Logistic {
    mu_degc: 0.0,
    alpha_degc: 10.4,
    beta_degc: 6.62,
    gamma_per_degc: 0.189,
};

impl Logistic {
    /// River temperature from air temperature alone.
    ///
    /// ```text
    /// Tw = mu + (alpha - mu) / (1 + exp(gamma (beta - Ta)))
    /// ```
    ///
    /// Ta = `air_temp_degc`: a weekly mean, or for daily use the mean of today and yesterday (Toffolon &
    /// Piccolroaz 2015). Between mu and alpha for any Ta. Wrong below dams and in snowmelt, for it has no
    /// memory. Mohseni et al. 1998, Eq. 1.
    ///
    /// ```
    /// # use plungeline::physics::river_temp::LOGISTIC_LOWLAND;
    /// assert!((LOGISTIC_LOWLAND.river_temp_degc(10.0) - 9.345).abs() < 1e-3);
    /// ```
    pub fn river_temp_degc(&self, air_temp_degc: f64) -> f64 {
        let above = self.gamma_per_degc * (self.beta_degc - air_temp_degc);
        self.mu_degc + (self.alpha_degc - self.mu_degc) / (1.0 + above.exp())
    }
}
