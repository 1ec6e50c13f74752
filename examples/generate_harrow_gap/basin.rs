//! Rain and snow to river flow: elevation bands, degree-day melt, one soil store, a linear cascade.

use super::hours::season_of;
use super::weather::{ALTITUDE_M, Weather};

/// A river basin.
pub struct Basin {
    /// Area.
    pub area_m2: f64,
    /// Bands: mean elevation and share of the area.
    pub bands: &'static [(f64, f64)],
    /// Rain of a band as a factor on the lake's: `base + per_km * height above the lake in km`.
    pub rain_base: f64,
    /// Growth of rain with height.
    pub rain_per_km: f64,
    /// Depth of the soil store.
    pub soil_mm: f64,
    /// E-folding time of each of the two quick reservoirs in a row.
    pub quick_h: f64,
    /// Share of runoff that takes the quick way; the rest goes by the slow one.
    pub quick_share: f64,
    /// E-folding time of the slow way.
    pub slow_h: f64,
    /// E-folding time of groundwater.
    pub ground_h: f64,
    /// Percolation from a full soil.
    pub percolation_mm_h: f64,
    /// Flow that never fails (springs).
    pub spring_m3s: f64,
    /// Whether the storms' Wicket share applies.
    pub in_shadow: bool,
}

/// The Sorrel River's: large, high, snow-fed.
pub const SORREL: Basin = Basin {
    area_m2: 9.3e8,
    bands: &[
        (450.0, 0.16),
        (900.0, 0.22),
        (1350.0, 0.24),
        (1800.0, 0.22),
        (2250.0, 0.16),
    ],
    rain_base: 1.0,
    rain_per_km: 0.95,
    soil_mm: 190.0,
    quick_h: 11.0,
    quick_share: 0.38,
    slow_h: 11.0 * 24.0,
    ground_h: 130.0 * 24.0,
    percolation_mm_h: 0.045,
    spring_m3s: 2.6,
    in_shadow: false,
};

/// Wicket Creek's: small, low, rain-fed, flashy.
pub const WICKET: Basin = Basin {
    area_m2: 4.2e8,
    bands: &[(350.0, 0.35), (600.0, 0.40), (950.0, 0.25)],
    rain_base: 1.0,
    rain_per_km: 0.30,
    soil_mm: 150.0,
    quick_h: 7.0,
    quick_share: 0.45,
    slow_h: 7.0 * 24.0,
    ground_h: 45.0 * 24.0,
    percolation_mm_h: 0.018,
    spring_m3s: 0.22,
    in_shadow: true,
};

/// Hourly flow and where it comes from; index from the first hour of the water truth.
pub struct Runoff {
    /// Flow.
    pub flow_m3s: Vec<f64>,
    /// Share of the flow of the hour that is fresh snowmelt.
    pub melt_frac: Vec<f64>,
    /// Share of the flow of the hour that is fresh rain.
    pub rain_frac: Vec<f64>,
}

/// Fall of temperature with height.
const LAPSE_DEGC_PER_M: f64 = 0.0060;
/// Seconds an hour.
const HOUR_S: f64 = 3600.0;

#[derive(Clone, Copy, Default)]
struct Band {
    snow_mm: f64,
    soil_mm: f64,
}

/// Runs a basin from hour `from` of the weather to its end.
pub fn runoff(weather: &Weather, basin: &Basin, from: usize) -> Runoff {
    let mut bands: Vec<Band> = basin
        .bands
        .iter()
        .map(|_| Band {
            snow_mm: 0.0,
            soil_mm: 0.6 * basin.soil_mm,
        })
        .collect();
    let (mut first, mut second, mut slow, mut ground) = (0.0, 0.0, 2.0, 60.0);
    let (mut melt_store, mut rain_store) = (0.0f64, 0.0f64);
    let mut found = Runoff {
        flow_m3s: vec![],
        melt_frac: vec![],
        rain_frac: vec![],
    };
    for hour in from..weather.temp_degc.len() {
        let season = season_of(hour);
        let degree_day_mm = 1.5 + 2.6 * season.summer;
        let (mut runoff, mut seep, mut melt_sum, mut rain_sum) = (0.0, 0.0, 0.0, 0.0);
        for (band, (elevation_m, share)) in bands.iter_mut().zip(basin.bands) {
            let height_m = elevation_m - ALTITUDE_M;
            let temp_degc = weather.temp_degc[hour] - LAPSE_DEGC_PER_M * height_m;
            let shadow = if basin.in_shadow {
                weather.wicket_share[hour]
            } else {
                1.0
            };
            let fall_mm =
                shadow * weather.rain_mm[hour] * (basin.rain_base + basin.rain_per_km * height_m / 1000.0);
            let snow_frac = ((2.0 - temp_degc) / 2.5).clamp(0.0, 1.0);
            band.snow_mm += fall_mm * snow_frac;
            let melt_mm = (degree_day_mm / 24.0 * temp_degc.max(0.0)).min(band.snow_mm);
            band.snow_mm -= melt_mm;
            let rain_mm = fall_mm * (1.0 - snow_frac);
            let liquid_mm = rain_mm + melt_mm;
            let fill = (band.soil_mm / basin.soil_mm).clamp(0.0, 1.0);
            let runs_mm = liquid_mm * fill * fill;
            let evaporation_mm = 0.17 / 24.0 * (temp_degc + 5.0).max(0.0) * fill;
            let seep_mm = basin.percolation_mm_h * fill * fill * fill;
            band.soil_mm += liquid_mm - runs_mm - evaporation_mm - seep_mm;
            let over_mm = (band.soil_mm - basin.soil_mm).max(0.0);
            band.soil_mm = (band.soil_mm - over_mm).max(0.0);
            runoff += share * (runs_mm + over_mm);
            seep += share * seep_mm;
            melt_sum += share * melt_mm;
            rain_sum += share * rain_mm;
        }
        // Linear reservoirs, mm of the basin; what leaves in an hour is the store over its time.
        first += basin.quick_share * runoff;
        let to_second = first / basin.quick_h;
        first -= to_second;
        second += to_second;
        let quick = second / basin.quick_h;
        second -= quick;
        slow += (1.0 - basin.quick_share) * runoff;
        let from_slow = slow / basin.slow_h;
        slow -= from_slow;
        ground += seep;
        let from_ground = ground / basin.ground_h;
        ground -= from_ground;
        let flow_mm = quick + from_slow + from_ground;
        found
            .flow_m3s
            .push(basin.spring_m3s + flow_mm / 1000.0 * basin.area_m2 / HOUR_S);
        // Fresh water of the last days, for the temperature of the source.
        melt_store += (melt_sum - melt_store) / 48.0;
        rain_store += (rain_sum - rain_store) / 30.0;
        let fresh = melt_store + rain_store;
        let recent = if fresh > 0.0 {
            (quick / flow_mm).clamp(0.0, 1.0)
        } else {
            0.0
        };
        found.melt_frac.push(if fresh > 0.0 {
            recent * melt_store / fresh
        } else {
            0.0
        });
        found.rain_frac.push(if fresh > 0.0 {
            recent * rain_store / fresh
        } else {
            0.0
        });
    }
    found
}
