//! The gauges: what each measures, and its published figures before any fault.

use chrono::NaiveDate;
use plungeline::units::{M_PER_FT, M3_PER_ACRE_FT, M3S_PER_CFS};

use super::text::{fixed, three_digits};
use crate::dice::{Dice, exp};
use crate::hours::standard_day_start;
use crate::truth::Truth;

/// Added to a reading of the pool's gauge (NGVD 29) to come to the lake's datum, ft.
const DATUM_OFFSET_FT: f64 = 3.42;

/// A series of a gauge.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Gauge {
    Pool,
    Storage,
    Release,
    Surface,
    SorrelFlow,
    SorrelTemp,
    SorrelTurbidity,
    WicketFlow,
    WicketTemp,
}

/// All of them.
pub const GAUGES: [Gauge; 9] = [
    Gauge::Pool,
    Gauge::Storage,
    Gauge::Release,
    Gauge::Surface,
    Gauge::SorrelFlow,
    Gauge::SorrelTemp,
    Gauge::SorrelTurbidity,
    Gauge::WicketFlow,
    Gauge::WicketTemp,
];

impl Gauge {
    /// Station number.
    pub fn station(self) -> &'static str {
        match self {
            Gauge::Pool | Gauge::Storage | Gauge::Surface => "990000010",
            Gauge::Release => "990000020",
            Gauge::SorrelFlow | Gauge::SorrelTemp | Gauge::SorrelTurbidity => "990000030",
            Gauge::WicketFlow | Gauge::WicketTemp => "990000040",
        }
    }

    /// Parameter code.
    pub fn parameter(self) -> &'static str {
        match self {
            Gauge::Pool => "62614",
            Gauge::Storage => "00054",
            Gauge::Release | Gauge::SorrelFlow | Gauge::WicketFlow => "00060",
            Gauge::Surface | Gauge::SorrelTemp | Gauge::WicketTemp => "00010",
            Gauge::SorrelTurbidity => "63680",
        }
    }

    /// Unit, as the service writes it.
    pub fn unit(self) -> &'static str {
        match self {
            Gauge::Pool => "ft",
            Gauge::Storage => "acre-ft",
            Gauge::Release | Gauge::SorrelFlow | Gauge::WicketFlow => "ft^3/s",
            Gauge::Surface | Gauge::SorrelTemp | Gauge::WicketTemp => "degC",
            Gauge::SorrelTurbidity => "FNU",
        }
    }

    /// Whether it has daily values.
    pub fn is_daily(self) -> bool {
        self != Gauge::SorrelTurbidity
    }

    /// Minutes between values within the day; `None` where there are none.
    pub fn step_min(self) -> Option<i64> {
        match self {
            Gauge::Storage => None,
            Gauge::SorrelFlow | Gauge::WicketFlow => Some(15),
            _ => Some(60),
        }
    }

    /// Its place in [`GAUGES`].
    pub fn number(self) -> usize {
        GAUGES
            .iter()
            .position(|g| *g == self)
            .expect("every gauge is in the list of gauges")
    }

    /// The figure as published.
    pub fn text(self, value: f64) -> String {
        match self {
            Gauge::Pool => fixed(value, 2),
            Gauge::Storage => fixed((value / 10.0).round() * 10.0, 0),
            Gauge::Release | Gauge::SorrelFlow | Gauge::WicketFlow => three_digits(value),
            _ => fixed(value, 1),
        }
    }
}

/// What each gauge reads every hour, in its own unit, with the small errors of its sensor.
pub struct Readings {
    first: usize,
    hourly: Vec<Vec<f64>>,
}

impl Readings {
    /// Reads all gauges.
    pub fn of(truth: &Truth) -> Readings {
        let cfs = |flows: &[f64]| flows.iter().map(|m3s| m3s / M3S_PER_CFS).collect::<Vec<f64>>();
        let hourly = GAUGES
            .iter()
            .map(|gauge| {
                let mut dice = Dice::new(50 + gauge.number() as u64);
                match gauge {
                    Gauge::Pool => {
                        let ft: Vec<f64> = truth
                            .pool_m
                            .iter()
                            .map(|m| m / M_PER_FT - DATUM_OFFSET_FT)
                            .collect();
                        noisy(&ft, 0.006, &mut dice)
                    }
                    Gauge::Storage => truth.storage_m3.iter().map(|m3| m3 / M3_PER_ACRE_FT).collect(),
                    Gauge::Release => cfs(&truth.release_m3s),
                    Gauge::Surface => noisy(&truth.water_degc[0], 0.07, &mut dice),
                    Gauge::SorrelFlow => wobble(&cfs(&truth.sorrel_m3s), 0.006, &mut dice),
                    Gauge::WicketFlow => wobble(&cfs(&truth.wicket_m3s), 0.009, &mut dice),
                    Gauge::SorrelTemp => noisy(&truth.sorrel_degc, 0.05, &mut dice),
                    Gauge::WicketTemp => noisy(&truth.wicket_degc, 0.05, &mut dice)
                        .iter()
                        .map(|t| t.max(0.0))
                        .collect(),
                    Gauge::SorrelTurbidity => wobble(&truth.sorrel_fnu, 0.05, &mut dice),
                }
            })
            .collect();
        Readings {
            first: truth.first,
            hourly,
        }
    }

    /// Reading at a quarter of an hour, linear between the hours.
    pub fn at(&self, gauge: Gauge, hour: usize, quarter: usize) -> f64 {
        let series = &self.hourly[gauge.number()];
        let step = hour - self.first;
        let part = quarter as f64 / 4.0;
        series[step] + part * (series[step + 1] - series[step])
    }

    /// Mean of a standard day.
    pub fn day(&self, gauge: Gauge, day: NaiveDate) -> f64 {
        let step = standard_day_start(day) - self.first;
        self.hourly[gauge.number()][step..step + 24].iter().sum::<f64>() / 24.0
    }
}

fn wobble(values: &[f64], sd: f64, dice: &mut Dice) -> Vec<f64> {
    values.iter().map(|v| v * exp(sd * dice.normal())).collect()
}

fn noisy(values: &[f64], sd: f64, dice: &mut Dice) -> Vec<f64> {
    values.iter().map(|v| v + sd * dice.normal()).collect()
}
