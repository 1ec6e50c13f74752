//! River temperatures: a source mixed from springs, snowmelt and rain, then the sky over the last reach.

use super::basin::Runoff;
use super::dice::{Dice, Memory, pow};
use super::fluxes::{Air, WATER_HEAT_J_M3, surface_exchange_w_m2};
use super::weather::Weather;

/// The last reach of a river, over which the sky sets its temperature.
pub struct Reach {
    /// Length.
    pub length_m: f64,
    /// Depth at 1 m3/s; grows with the 0.4th power of flow.
    pub depth_m: f64,
    /// Velocity at 1 m3/s; grows with the 0.34th power of flow.
    pub velocity_m_s: f64,
    /// Share of the sun that reaches the water between banks and trees.
    pub open_frac: f64,
    /// Temperature of springs.
    pub spring_degc: f64,
    /// Part of the year's swing of air temperature that springs and soil water follow.
    pub spring_follows: f64,
    /// How much colder than at the lake the air is where its rain falls.
    pub rain_colder_degc: f64,
}

/// The Sorrel River's.
pub const SORREL_REACH: Reach = Reach {
    length_m: 42_000.0,
    depth_m: 0.26,
    velocity_m_s: 0.32,
    open_frac: 0.55,
    spring_degc: 8.0,
    spring_follows: 0.25,
    rain_colder_degc: 1.5,
};

/// Wicket Creek's.
pub const WICKET_REACH: Reach = Reach {
    length_m: 26_000.0,
    depth_m: 0.30,
    velocity_m_s: 0.20,
    open_frac: 0.34,
    spring_degc: 10.5,
    spring_follows: 0.55,
    rain_colder_degc: 1.5,
};

/// Hourly temperature, index as the runoff's.
pub fn river_temp_degc(
    weather: &Weather,
    runoff: &Runoff,
    reach: &Reach,
    from: usize,
    stream: u64,
) -> Vec<f64> {
    let mut dice = Dice::new(stream);
    let mut wander = Memory::new(30.0, &mut dice);
    let (mut water_degc, mut month_degc, mut day_degc) = (6.0f64, 6.0, 6.0);
    let mut found = Vec::with_capacity(runoff.flow_m3s.len());
    for (step, flow_m3s) in runoff.flow_m3s.iter().enumerate() {
        let hour = from + step;
        month_degc += (weather.temp_degc[hour] - month_degc) / (24.0 * 30.0);
        day_degc += (weather.temp_degc[hour] - day_degc) / 24.0;
        let (melt, rain) = (runoff.melt_frac[step], runoff.rain_frac[step]);
        let spring_degc = reach.spring_degc + reach.spring_follows * (month_degc - 13.0);
        let source_degc = melt * 3.0
            + rain * (day_degc - reach.rain_colder_degc).max(0.5)
            + (1.0 - melt - rain) * spring_degc.max(1.0);
        let depth_m = reach.depth_m * pow(*flow_m3s, 0.4);
        let travel_s = reach.length_m / (reach.velocity_m_s * pow(*flow_m3s, 0.34));
        let air = Air {
            temp_degc: weather.temp_degc[hour],
            dew_point_degc: weather.dew_point_degc[hour],
            wind_m_s: 0.45 * weather.wind_m_s[hour],
            cloud_frac: weather.cloud_frac[hour],
            pressure_hpa: weather.pressure_hpa[hour],
            shortwave_w_m2: weather.shortwave_w_m2[hour],
        };
        // Half the long-wave loss is met by banks and trees at air temperature: counted with the open share.
        let (exchange, _) = surface_exchange_w_m2(air, water_degc);
        let heat_w_m2 = reach.open_frac * 0.94 * air.shortwave_w_m2 + 0.75 * exchange;
        let sky_degc_h = heat_w_m2 * 3600.0 / (WATER_HEAT_J_M3 * depth_m);
        let renewal = (3600.0 / travel_s).min(0.9);
        water_degc += sky_degc_h + renewal * (source_degc - water_degc);
        water_degc = water_degc.max(0.05);
        found.push((water_degc + 0.15 * wander.step(&mut dice)).max(0.0));
    }
    found
}

/// Turbidity from flow: `base (q / mean)^1.35`, more on the rising limb than on the falling, FNU.
pub fn turbidity_fnu(flow_m3s: &[f64], mean_m3s: f64, stream: u64) -> Vec<f64> {
    let mut dice = Dice::new(stream);
    let mut wander = Memory::new(12.0, &mut dice);
    let mut slow_m3s = flow_m3s[0];
    flow_m3s
        .iter()
        .map(|flow| {
            slow_m3s += (flow - slow_m3s) / 36.0;
            let rising = (flow / slow_m3s - 1.0).clamp(-0.35, 2.5);
            let clear = 2.2 * pow(flow / mean_m3s, 1.35) * (1.0 + 1.6 * rising);
            clear.max(0.6) * super::dice::exp(0.12 * wander.step(&mut dice))
        })
        .collect()
}
