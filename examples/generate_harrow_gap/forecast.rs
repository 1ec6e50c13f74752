//! Forecasts as they could have been issued: an ensemble that the truth could be a member of.
//!
//! In units of the climate's spread, the truth at lead L is `m + e n0` and each member `m + e ni`, where m
//! is the predictable part, e grows with lead, and the n are independent, unit variance, smooth in time.
//! m is drawn given the truth t: `m = r2 t + r e n`, with `r2 = 1 - e^2`.

use super::dice::{Dice, Memory, exp, ln, logistic};
use super::hours::{hour_at, season_of};
use super::mornings::DemoMorning;
use super::sun::{clear_sky_w_m2, cloud_transmission};
use super::weather::Weather;

/// Members beside the control.
pub const MEMBERS: usize = 30;
/// Hours of an ensemble or of the future part of a forecast.
pub const HORIZON_H: usize = 16 * 24;

/// Quantities that are forecast as anomalies from climate, each made roughly normal first.
const TRANSFORMED: usize = 5;

/// Hourly weather of one member, from 00 UTC of the day.
#[derive(Default, Clone)]
pub struct MemberWeather {
    pub temp_degc: Vec<f64>,
    pub dew_point_degc: Vec<f64>,
    pub wind_m_s: Vec<f64>,
    pub gust_m_s: Vec<f64>,
    pub direction_deg: Vec<f64>,
    pub cloud_frac: Vec<f64>,
    pub pressure_hpa: Vec<f64>,
    pub rain_mm: Vec<f64>,
    pub shortwave_w_m2: Vec<f64>,
}

/// First hour (00 UTC) of the day a morning's forecast begins with.
pub fn first_hour(morning: &DemoMorning) -> usize {
    morning.hour() / 24 * 24
}

/// Smooth noise of unit variance.
struct Smooth {
    memory: Memory,
    value: f64,
}

impl Smooth {
    const TIME_H: f64 = 30.0;
    const SMOOTHING_H: f64 = 8.0;

    fn new(dice: &mut Dice) -> Smooth {
        let mut smooth = Smooth {
            memory: Memory::new(Self::TIME_H, dice),
            value: 0.0,
        };
        for _ in 0..72 {
            smooth.step(dice);
        }
        smooth
    }

    fn step(&mut self, dice: &mut Dice) -> f64 {
        self.value += (self.memory.step(dice) - self.value) / Self::SMOOTHING_H;
        self.value / libm::sqrt(Self::TIME_H / (Self::TIME_H + Self::SMOOTHING_H))
    }
}

/// Error of a member about the predictable part, in units of the climate's spread.
fn error_frac(lead_h: f64, at_start: f64) -> f64 {
    (at_start + 0.070 * lead_h.max(0.0) / 24.0).min(0.97)
}

/// Errors at lead 0 of temperature, dew-point depression, wind, cloud, pressure.
const AT_START: [f64; TRANSFORMED] = [0.19, 0.20, 0.15, 0.25, 0.10];

fn transformed(weather: &Weather, hour: usize) -> [f64; TRANSFORMED] {
    let cloud = weather.cloud_frac[hour].clamp(0.01, 0.99);
    [
        weather.temp_degc[hour],
        ln((weather.temp_degc[hour] - weather.dew_point_degc[hour]).max(0.05) + 0.3),
        ln(weather.wind_m_s[hour] + 0.5),
        ln(cloud / (1.0 - cloud)),
        weather.pressure_hpa[hour],
    ]
}

/// Mean and spread of the climate at an hour: same hour, days of the year within ten, 1985 to 2021.
fn climate(weather: &Weather, hour: usize) -> [(f64, f64); TRANSFORMED] {
    let last = hour_at(2022, 1, 1, 0);
    let (mut sum, mut squares, mut count) = ([0.0; TRANSFORMED], [0.0; TRANSFORMED], 0.0);
    for years_back in 1..=41 {
        let shift = (f64::from(years_back) * 365.25).round() as usize * 24;
        for day in 0..21 {
            let Some(then) = (hour + day * 24).checked_sub(shift + 240) else {
                continue;
            };
            if then >= last {
                continue;
            }
            count += 1.0;
            for (k, value) in transformed(weather, then).into_iter().enumerate() {
                sum[k] += value;
                squares[k] += value * value;
            }
        }
    }
    std::array::from_fn(|k| {
        let mean = sum[k] / count;
        (mean, libm::sqrt((squares[k] / count - mean * mean).max(1e-6)))
    })
}

/// The control (index 0) and the members.
pub fn ensemble(weather: &Weather, morning: &DemoMorning) -> Vec<MemberWeather> {
    let first = first_hour(morning);
    let mut dice = Dice::new(100 + morning.stream);
    let issue = morning.hour() - 5;
    let predictable = predictable_part(weather, first, issue, &mut dice);
    (0..=MEMBERS)
        .map(|member| {
            let mut own = Dice::new(1000 * morning.stream + member as u64 + 1000);
            let scale = if member == 0 { 0.6 } else { 1.0 };
            draw_member(weather, first, issue, &predictable, scale, &mut own)
        })
        .collect()
}

/// Predictable part `m` and the climate's spread, an hour a row.
fn predictable_part(
    weather: &Weather,
    first: usize,
    issue: usize,
    dice: &mut Dice,
) -> Vec<[(f64, f64); TRANSFORMED]> {
    let mut noise: Vec<Smooth> = (0..TRANSFORMED).map(|_| Smooth::new(dice)).collect();
    (first..first + HORIZON_H)
        .map(|hour| {
            let (truth, climate) = (transformed(weather, hour), climate(weather, hour));
            let lead_h = hour as f64 - issue as f64;
            std::array::from_fn(|k| {
                let (mean, spread) = climate[k];
                let error = error_frac(lead_h, AT_START[k]);
                let skill = 1.0 - error * error;
                let drift = libm::sqrt(skill) * error * spread * noise[k].step(dice);
                (mean + skill * (truth[k] - mean) + drift, spread)
            })
        })
        .collect()
}

fn draw_member(
    weather: &Weather,
    first: usize,
    issue: usize,
    predictable: &[[(f64, f64); TRANSFORMED]],
    scale: f64,
    dice: &mut Dice,
) -> MemberWeather {
    let mut noise: Vec<Smooth> = (0..TRANSFORMED + 2).map(|_| Smooth::new(dice)).collect();
    let rain = RainOf::draw(dice);
    let mut member = MemberWeather::default();
    for (step, row) in predictable.iter().enumerate() {
        let hour = first + step;
        let lead_h = hour as f64 - issue as f64;
        let mut value = [0.0; TRANSFORMED];
        for k in 0..TRANSFORMED {
            let (middle, spread) = row[k];
            value[k] = middle + scale * error_frac(lead_h, AT_START[k]) * spread * noise[k].step(dice);
        }
        let rain_mm = rain.at_mm(weather, hour, lead_h, scale);
        let mut cloud = logistic(value[3]);
        if rain_mm > 0.1 {
            cloud = cloud.max(0.85);
        }
        let wind_m_s = (exp(value[2]) - 0.5).max(0.1);
        let true_gustiness = (weather.gust_m_s[hour] - 0.4) / weather.wind_m_s[hour];
        let gustiness = (true_gustiness + 0.12 * scale * noise[5].step(dice)).clamp(1.1, 2.4);
        let turn_deg = scale * (8.0 + 80.0 * error_frac(lead_h, 0.0)) * noise[6].step(dice);
        member.temp_degc.push(value[0]);
        member
            .dew_point_degc
            .push(value[0] - (exp(value[1]) - 0.3).max(0.0));
        member.wind_m_s.push(wind_m_s);
        member.gust_m_s.push(wind_m_s * gustiness + 0.4);
        member
            .direction_deg
            .push((weather.direction_deg[hour] + turn_deg + 720.0) % 360.0);
        member.cloud_frac.push(cloud);
        member.pressure_hpa.push(value[4]);
        member.rain_mm.push(rain_mm);
        member
            .shortwave_w_m2
            .push(clear_sky_w_m2(season_of(hour)) * cloud_transmission(cloud));
    }
    member
}

/// How a member makes its rain: from the truth, shifted and scaled, while it has skill; then from a year
/// of the climate.
struct RainOf {
    fades: f64,
    shift: f64,
    strength: f64,
    years_back: f64,
}

impl RainOf {
    fn draw(dice: &mut Dice) -> RainOf {
        RainOf {
            fades: dice.uniform(),
            shift: dice.normal(),
            strength: dice.normal(),
            years_back: 1.0 + (36.0 * dice.uniform()).floor(),
        }
    }

    fn at_mm(&self, weather: &Weather, hour: usize, lead_h: f64, scale: f64) -> f64 {
        let lead_days = (lead_h / 24.0).max(0.0);
        let error = error_frac(lead_h, 0.25);
        if self.fades < 1.0 - error * error {
            let shift_h = (scale * self.shift * (0.5 + 2.0 * lead_days)).round() as i64;
            let spread = scale * (0.15 + 0.06 * lead_days);
            let factor = exp(spread * self.strength - 0.5 * spread * spread);
            let then = (hour as i64 + shift_h).clamp(0, weather.rain_mm.len() as i64 - 1) as usize;
            factor * weather.rain_mm[then]
        } else {
            // At least five years back, so that no member sees what is to come.
            let back = ((self.years_back + 4.0) * 365.25).round() as usize * 24;
            weather.rain_mm[hour - back]
        }
    }
}

/// Visibility that a forecast would give, m.
pub fn visibility_m(temp_degc: f64, dew_point_degc: f64, wind_m_s: f64, rain_mm: f64) -> f64 {
    let depression = temp_degc - dew_point_degc;
    let clear_m: f64 = if depression < 0.5 && wind_m_s < 2.0 {
        120.0 + 480.0 * depression
    } else if depression < 1.5 {
        2500.0 + 6000.0 * depression
    } else {
        24_140.0
    };
    clear_m.min(24_140.0 / (1.0 + 1.4 * rain_mm))
}
