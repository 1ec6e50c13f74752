//! The whole truth: weather, rivers, lake and dam, hour by hour, before any fault.

use plungeline::units::{M_PER_FT, M3S_PER_CFS};

use super::basin::{SORREL, WICKET, runoff};
use super::body::{Body, Entering};
use super::bowl::Bowl;
use super::fluxes::Air;
use super::hours::{self, date, hour_of, midnight_utc, season_of, standard_day_start};
use super::operation::{Morning, release_m3s};
use super::rivers::{SORREL_REACH, WICKET_REACH, river_temp_degc, turbidity_fnu};
use super::weather::Weather;

/// Pool at the start of the spin-up.
const FIRST_POOL_FT: f64 = 795.0;
/// Depths of the temperatures that are kept.
pub const DEPTHS_M: [f64; 5] = [1.0, 5.0, 10.0, 20.0, 30.0];
/// Seconds an hour.
const HOUR_S: f64 = 3600.0;

/// Hourly truth. Weather is indexed from 1985; water from `first`, the first hour of 2010.
pub struct Truth {
    pub weather: Weather,
    /// First hour of the water.
    pub first: usize,
    pub sorrel_m3s: Vec<f64>,
    pub wicket_m3s: Vec<f64>,
    pub sorrel_degc: Vec<f64>,
    pub wicket_degc: Vec<f64>,
    pub sorrel_fnu: Vec<f64>,
    /// Release of the hour that begins at the stamp, like the flows.
    pub release_m3s: Vec<f64>,
    /// Evaporation of the hour that begins at the stamp.
    pub evaporation_m3: Vec<f64>,
    /// Storage at the stamp.
    pub storage_m3: Vec<f64>,
    /// Elevation of the pool at the stamp, lake datum.
    pub pool_m: Vec<f64>,
    /// Water temperature at each of `DEPTHS_M`, at the stamp.
    pub water_degc: [Vec<f64>; 5],
    /// Temperature 0.5 m above the bed at the dam, at the stamp.
    pub bottom_degc: Vec<f64>,
}

impl Truth {
    /// Makes it.
    pub fn make(bowl: &Bowl) -> Truth {
        let weather = Weather::draw();
        let first = hour_of(midnight_utc(date(
            hours::WATER_START.0,
            hours::WATER_START.1,
            hours::WATER_START.2,
        )));
        let sorrel = runoff(&weather, &SORREL, first);
        let wicket = runoff(&weather, &WICKET, first);
        let sorrel_degc = river_temp_degc(&weather, &sorrel, &SORREL_REACH, first, 11);
        let wicket_degc = river_temp_degc(&weather, &wicket, &WICKET_REACH, first, 12);
        let sorrel_fnu = turbidity_fnu(&sorrel.flow_m3s, 600.0 * M3S_PER_CFS, 13);
        let mut truth = Truth {
            weather,
            first,
            sorrel_m3s: sorrel.flow_m3s,
            wicket_m3s: wicket.flow_m3s,
            sorrel_degc,
            wicket_degc,
            sorrel_fnu,
            release_m3s: vec![],
            evaporation_m3: vec![],
            storage_m3: vec![],
            pool_m: vec![],
            water_degc: Default::default(),
            bottom_degc: vec![],
        };
        truth.run_lake(bowl);
        truth
    }

    /// Index into the water of an hour.
    pub fn step_of(&self, hour: usize) -> usize {
        hour - self.first
    }

    fn run_lake(&mut self, bowl: &Bowl) {
        let mut body = Body::isothermal(bowl, FIRST_POOL_FT * M_PER_FT, 7.0);
        let mut storage_m3 = bowl.volume_m3(FIRST_POOL_FT * M_PER_FT);
        let mut release = 200.0 * M3S_PER_CFS;
        let mut day = Day::default();
        for step in 0..self.sorrel_m3s.len() {
            let hour = self.first + step;
            let pool_m = bowl.elevation_m(storage_m3);
            let inflow_m3s = self.sorrel_m3s[step] + self.wicket_m3s[step];
            // Gates move at 15:00 UTC (7 in the morning, standard time).
            if hour % 24 == 15 {
                let mean = |series: &[f64]| {
                    series[step.saturating_sub(24)..=step].iter().sum::<f64>() / (step.min(24) + 1) as f64
                };
                release = release_m3s(
                    bowl,
                    Morning {
                        day_of_year: season_of(hour).day_of_year,
                        level_m: pool_m,
                        inflow_m3s: mean(&self.sorrel_m3s) + mean(&self.wicket_m3s),
                        yesterday_release_m3s: release,
                    },
                );
            }
            self.storage_m3.push(storage_m3);
            self.pool_m.push(pool_m);
            for (series, depth_m) in self.water_degc.iter_mut().zip(DEPTHS_M) {
                series.push(body.temp_at_degc(bowl, depth_m));
            }
            self.bottom_degc.push(body.temp_at_degc(bowl, 1000.0));
            let evaporation_m = body.step_hour(bowl, air_at(&self.weather, hour + 1));
            let evaporation_m3 = evaporation_m * bowl.area_m2(pool_m);
            self.release_m3s.push(release);
            self.evaporation_m3.push(evaporation_m3);
            storage_m3 += (inflow_m3s - release) * HOUR_S - evaporation_m3;
            day.add(self, step);
            if hour % 24 == 7 {
                body.exchange_water(
                    bowl,
                    day.release_m3,
                    day.evaporation_m3,
                    &day.rivers(),
                    bowl.elevation_m(storage_m3),
                );
                day = Day::default();
            }
        }
    }

    /// Water balance from the kept series alone, of all standard days from 2012 on: the volume that the
    /// lake file's table gives to the level at the end of the day, less that at its start, less what the
    /// rivers brought, plus what was released and evaporated.
    pub fn balance(&self, bowl: &Bowl) -> Balance {
        let mut balance = Balance::default();
        let sum = |series: &[f64]| series.iter().sum::<f64>();
        let mut step = self.step_of(standard_day_start(date(2012, 1, 1)));
        while step + 24 < self.pool_m.len() {
            let day = step..step + 24;
            let inflow_m3 =
                HOUR_S * (sum(&self.sorrel_m3s[day.clone()]) + sum(&self.wicket_m3s[day.clone()]));
            let release_m3 = HOUR_S * sum(&self.release_m3s[day.clone()]);
            let evaporation_m3 = sum(&self.evaporation_m3[day]);
            let change_m3 = bowl.volume_m3(self.pool_m[step + 24]) - bowl.volume_m3(self.pool_m[step]);
            let residual_m3 = change_m3 - inflow_m3 + release_m3 + evaporation_m3;
            balance.worst_day_m3 = balance.worst_day_m3.max(residual_m3.abs());
            balance.all_days_m3 += residual_m3;
            balance.inflow_m3 += inflow_m3;
            step += 24;
        }
        balance
    }
}

fn air_at(weather: &Weather, hour: usize) -> Air {
    let hour = hour.min(weather.temp_degc.len() - 1);
    Air {
        temp_degc: weather.temp_degc[hour],
        dew_point_degc: weather.dew_point_degc[hour],
        wind_m_s: weather.wind_m_s[hour],
        cloud_frac: weather.cloud_frac[hour],
        pressure_hpa: weather.pressure_hpa[hour],
        shortwave_w_m2: weather.shortwave_w_m2[hour],
    }
}

/// How well the water balance closes.
#[derive(Clone, Copy, Default)]
pub struct Balance {
    /// Largest residual of a day.
    pub worst_day_m3: f64,
    /// Sum of the residuals of all days.
    pub all_days_m3: f64,
    /// Inflow of all days.
    pub inflow_m3: f64,
}

/// Water of a day for the column.
#[derive(Default)]
struct Day {
    release_m3: f64,
    evaporation_m3: f64,
    sorrel: (f64, f64),
    wicket: (f64, f64),
}

impl Day {
    fn add(&mut self, truth: &Truth, step: usize) {
        self.release_m3 += truth.release_m3s[step] * HOUR_S;
        self.evaporation_m3 += truth.evaporation_m3[step];
        for (sum, flow, temp) in [
            (&mut self.sorrel, truth.sorrel_m3s[step], truth.sorrel_degc[step]),
            (&mut self.wicket, truth.wicket_m3s[step], truth.wicket_degc[step]),
        ] {
            sum.0 += flow * HOUR_S;
            sum.1 += flow * HOUR_S * temp;
        }
    }

    fn rivers(&self) -> [Entering; 2] {
        [self.sorrel, self.wicket].map(|(volume_m3, heat)| Entering {
            volume_m3,
            temp_degc: heat / volume_m3,
        })
    }
}
