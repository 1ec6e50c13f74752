//! The weather truth: hourly, 1985 to 2026, an invented foothill climate.

use super::dice::{Dice, Memory, atan2, bell, cos, exp, logistic, sin};
use super::hours::{Season, hours_in_all, season_of};
use super::script::{Imposed, imposed};
use super::storms::{Storm, storms};
use super::sun::{clear_sky_w_m2, cloud_transmission};

/// Altitude of the weather cell.
pub const ALTITUDE_M: f64 = 257.0;

/// Hourly values; index = hours since 1985-01-01T00Z. Rain, shortwave and gust belong to the hour that
/// ends at the stamp, the others to the stamp.
#[derive(Default)]
pub struct Weather {
    pub temp_degc: Vec<f64>,
    pub dew_point_degc: Vec<f64>,
    pub wind_m_s: Vec<f64>,
    pub gust_m_s: Vec<f64>,
    pub direction_deg: Vec<f64>,
    pub cloud_frac: Vec<f64>,
    pub pressure_hpa: Vec<f64>,
    pub rain_mm: Vec<f64>,
    pub shortwave_w_m2: Vec<f64>,
    /// Rain over the Wicket basin as a share of the usual.
    pub wicket_share: Vec<f64>,
}

/// What the storms of an hour add.
#[derive(Clone, Copy, Default)]
struct Forcing {
    temp_degc: f64,
    dip_hpa: f64,
    cloud: f64,
    wind_x_m_s: f64,
    wind_y_m_s: f64,
    moist: f64,
}

/// Slow and fast processes that the weather draws from.
struct Processes {
    synoptic: Memory,
    synoptic_smooth: f64,
    slow: Memory,
    pressure: Memory,
    cloud: Memory,
    wind_x: Memory,
    wind_y: Memory,
    breeze: Memory,
    gust: Memory,
    moisture: Memory,
}

impl Weather {
    /// Draws the whole record.
    pub fn draw() -> Weather {
        let mut dice = Dice::new(2);
        let hours = hours_in_all();
        let (storm_forcing, rain_mm, wicket_share) = spread_storms(&storms(), hours);
        let mut processes = Processes::new(&mut dice);
        let mut weather = Weather {
            rain_mm,
            wicket_share,
            ..Weather::default()
        };
        let (mut year, mut year_anomaly) = (0, 0.0);
        for (hour, storm) in storm_forcing.iter().enumerate() {
            let season = season_of(hour);
            if season.water_year != year {
                year = season.water_year;
                year_anomaly = 0.45 * year_anomaly + 0.55 * dice.normal();
            }
            weather.push_hour(
                season,
                imposed(hour),
                *storm,
                year_anomaly,
                &mut processes,
                &mut dice,
            );
        }
        weather
    }

    fn push_hour(
        &mut self,
        season: Season,
        script: Imposed,
        storm: Forcing,
        year_anomaly: f64,
        processes: &mut Processes,
        dice: &mut Dice,
    ) {
        // Cloud.
        let cloud_season = -1.0 + 1.25 * cos(season.angle);
        let mut cloud =
            logistic(cloud_season + 1.7 * processes.cloud.step(dice) + storm.cloud + script.cloud_logit);
        cloud += script.fog * (0.95 - cloud);
        // Temperature.
        let kick = processes.synoptic.step(dice);
        processes.synoptic_smooth += (kick - processes.synoptic_smooth) / 12.0;
        let synoptic = (3.2 - 0.9 * season.summer) * processes.synoptic_smooth;
        let slow = 0.7 * processes.slow.step(dice) + year_anomaly;
        let mut anomaly = synoptic + slow + storm.temp_degc;
        if let Some((wanted, weight)) = script.temp {
            anomaly += weight * (wanted - anomaly);
        }
        let mean = 14.4 - 8.4 * cos(season.angle) + 0.3 * cos(2.0 * season.angle);
        let amplitude = (6.0 + 4.0 * season.summer) * (1.0 - 0.6 * cloud);
        let temp = mean + anomaly + amplitude * diurnal(season.solar_hour);
        self.temp_degc.push(temp);
        // Dew point.
        let dry = 4.0 - 2.6 * cos(season.angle) + 0.55 * anomaly;
        let dew = dry + 1.8 * processes.moisture.step(dice) + 3.5 * storm.moist;
        let dew = dew.min(temp - 0.15 - 1.2 * (1.0 - cloud));
        self.dew_point_degc.push(dew + script.fog * (temp - 0.2 - dew));
        self.push_wind(season, script, storm, cloud, processes, dice);
        // Pressure: standard atmosphere at the altitude, season, systems, half-daily tide.
        let tide = 0.7 * cos(2.0 * std::f64::consts::PI * (season.solar_hour - 10.0) / 12.0);
        let level = 982.8 + 1.8 * cos(season.angle);
        let systems = (4.2 - 2.2 * season.summer) * processes.pressure.step(dice);
        self.pressure_hpa.push(level + systems - storm.dip_hpa + tide);
        self.shortwave_w_m2
            .push(clear_sky_w_m2(season) * cloud_transmission(cloud));
        self.cloud_frac.push(cloud);
    }

    fn push_wind(
        &mut self,
        season: Season,
        script: Imposed,
        storm: Forcing,
        cloud: f64,
        processes: &mut Processes,
        dice: &mut Dice,
    ) {
        // x toward east, y toward north. Background from the west.
        let mut x = script.wind_factor * (0.5 + 1.5 * processes.wind_x.step(dice));
        let mut y = script.wind_factor * 1.3 * processes.wind_y.step(dice);
        let afternoon = bell((season.solar_hour - 16.2) / 3.2);
        let warm = (1.6 * season.summer - 0.35).clamp(0.0, 1.0);
        let mut vigour = (1.0 + 0.28 * processes.breeze.step(dice)).clamp(0.3, 1.8);
        if let Some((wanted, weight)) = script.breeze {
            vigour += weight * (wanted - vigour);
        }
        let breeze = 5.2 * warm * afternoon * vigour * (1.0 - 0.6 * cloud);
        let by_day = bell((season.solar_hour - 14.0) / 4.5);
        let north_west = script.day_wind_m_s * by_day;
        x += breeze * 0.96 + storm.wind_x_m_s + 0.7 * north_west;
        y += breeze * 0.28 + storm.wind_y_m_s - 0.7 * north_west;
        let speed = libm::sqrt(x * x + y * y).max(0.1);
        let convective = 0.2 * bell((season.solar_hour - 14.5) / 4.0) * (0.4 + 0.6 * season.summer);
        let gustiness = (1.42 + convective + 0.10 * processes.gust.step(dice)).clamp(1.15, 2.3);
        self.gust_m_s.push(speed * gustiness + 0.4);
        self.wind_m_s.push(speed);
        let from = atan2(-x, -y).to_degrees();
        self.direction_deg.push((from + 360.0) % 360.0);
    }
}

impl Processes {
    fn new(dice: &mut Dice) -> Self {
        let mut with = |time_h: f64| Memory::new(time_h, dice);
        Processes {
            synoptic: with(60.0),
            synoptic_smooth: 0.0,
            slow: with(24.0 * 40.0),
            pressure: with(70.0),
            cloud: with(18.0),
            wind_x: with(16.0),
            wind_y: with(16.0),
            breeze: with(36.0),
            gust: with(3.0),
            moisture: with(48.0),
        }
    }
}

/// Shape of the day: about +1 at 15 h solar, about -1 at 5 h.
fn diurnal(solar_hour: f64) -> f64 {
    let turn = 2.0 * std::f64::consts::PI / 24.0;
    0.93 * cos(turn * (solar_hour - 14.8)) + 0.20 * cos(2.0 * turn * (solar_hour - 14.2)) - 0.03
}

/// Lays the storms over the hours: forcing, rain and the Wicket share.
fn spread_storms(storms: &[Storm], hours: usize) -> (Vec<Forcing>, Vec<f64>, Vec<f64>) {
    let mut dice = Dice::new(3);
    let mut forcing = vec![Forcing::default(); hours];
    let (mut rain_mm, mut share) = (vec![0.0; hours], vec![1.0; hours]);
    for storm in storms {
        let reach = 6.0 * storm.half_h;
        let from = (storm.centre_h - reach).max(0.0) as usize;
        let to = ((storm.centre_h + reach) as usize).min(hours);
        let mut weights = vec![0.0; to.saturating_sub(from)];
        for hour in from..to {
            let x = (hour as f64 - storm.centre_h) / storm.half_h;
            add_forcing(&mut forcing[hour], storm, x);
            let burst = exp(0.75 * dice.normal());
            if x.abs() < 1.8 {
                weights[hour - from] = bell(x * 1.1) * burst;
                share[hour] = storm.wicket_share;
            }
        }
        // Drizzle below a twelfth of the mean rate is dropped; the rest carries the total.
        let sum: f64 = weights.iter().sum();
        let floor = sum / (12.0 * 3.6 * storm.half_h);
        let kept: f64 = weights.iter().filter(|w| **w > floor).sum();
        for (step, weight) in weights.iter().enumerate() {
            if *weight > floor {
                rain_mm[from + step] += storm.total_mm * weight / kept;
            }
        }
    }
    (forcing, rain_mm, share)
}

fn add_forcing(forcing: &mut Forcing, storm: &Storm, x: f64) {
    forcing.temp_degc += storm.warm_degc * bell((x + 0.9) / 1.3) - storm.cold_degc * bell((x - 2.2) / 2.0);
    forcing.dip_hpa += storm.dip_hpa * bell(x / 1.7);
    forcing.cloud += 6.0 * bell(x / 1.5);
    forcing.moist += bell(x / 1.4);
    // South wind ahead, north-west behind.
    let from_rad = (245.0 + 65.0 * (x / (1.0 + x.abs()))).to_radians();
    let speed = storm.wind_m_s * bell(x / 1.5);
    forcing.wind_x_m_s -= speed * sin(from_rad);
    forcing.wind_y_m_s -= speed * cos(from_rad);
}
