//! The scripted weather of the demonstration mornings: spans in which anomalies are drawn to a value.

use super::hours::hour_at;

/// What a span of the script imposes; weight 0 outside, 1 inside, linear over `RAMP_H` at both ends.
#[derive(Clone, Copy, Default)]
pub struct Imposed {
    /// Temperature anomaly and its weight.
    pub temp: Option<(f64, f64)>,
    /// Offset on the logit of cloud cover, times the weight.
    pub cloud_logit: f64,
    /// Factor on the background wind.
    pub wind_factor: f64,
    /// Vigour of the afternoon breeze of the warm season (1 = usual) and its weight.
    pub breeze: Option<(f64, f64)>,
    /// North-west wind added by day, m/s.
    pub day_wind_m_s: f64,
    /// Weight of radiation fog, 0 to 1.
    pub fog: f64,
}

const RAMP_H: f64 = 18.0;

struct Span {
    from: (i32, u32, u32, usize),
    to: (i32, u32, u32, usize),
    temp_degc: Option<f64>,
    cloud_logit: f64,
    wind_factor: f64,
    breeze: Option<f64>,
    day_wind_m_s: f64,
    fog: f64,
}

const PLAIN: Span = Span {
    from: (0, 0, 0, 0),
    to: (0, 0, 0, 0),
    temp_degc: None,
    cloud_logit: 0.0,
    wind_factor: 1.0,
    breeze: None,
    day_wind_m_s: 0.0,
    fog: 0.0,
};

/// The script. Times are UTC.
const SPANS: [Span; 7] = [
    // Dead of summer: clear, hot, a strong breeze in the afternoon.
    Span {
        from: (2025, 7, 20, 12),
        to: (2025, 7, 27, 12),
        temp_degc: Some(1.2),
        cloud_logit: -2.0,
        wind_factor: 0.5,
        breeze: Some(1.40),
        ..PLAIN
    },
    // Cooling: a trough in early October.
    Span {
        from: (2025, 10, 3, 0),
        to: (2025, 10, 10, 12),
        temp_degc: Some(-3.0),
        ..PLAIN
    },
    // Cold spell that lays ice on Wicket Creek.
    Span {
        from: (2025, 12, 31, 0),
        to: (2026, 1, 11, 0),
        temp_degc: Some(-6.0),
        ..PLAIN
    },
    // Winter high: clear, cold, calm.
    Span {
        from: (2026, 1, 12, 0),
        to: (2026, 1, 18, 12),
        temp_degc: Some(-1.0),
        cloud_logit: -1.5,
        wind_factor: 0.35,
        ..PLAIN
    },
    // Radiation fog of the winter morning.
    Span {
        from: (2026, 1, 17, 10),
        to: (2026, 1, 17, 18),
        wind_factor: 0.5,
        fog: 1.0,
        ..PLAIN
    },
    // Warm flow of the March storm.
    Span {
        from: (2026, 3, 8, 12),
        to: (2026, 3, 10, 12),
        temp_degc: Some(3.5),
        ..PLAIN
    },
    // Breezy day after the storm.
    Span {
        from: (2026, 3, 11, 12),
        to: (2026, 3, 13, 12),
        temp_degc: Some(0.5),
        wind_factor: 0.4,
        day_wind_m_s: 7.8,
        ..PLAIN
    },
];

/// What the script imposes at `hour`.
pub fn imposed(hour: usize) -> Imposed {
    let mut all = Imposed {
        wind_factor: 1.0,
        ..Imposed::default()
    };
    for span in &SPANS {
        let from = hour_at(span.from.0, span.from.1, span.from.2, span.from.3) as f64;
        let to = hour_at(span.to.0, span.to.1, span.to.2, span.to.3) as f64;
        let ramp_h = if span.fog > 0.0 { 2.0 } else { RAMP_H };
        let now = hour as f64;
        let weight = ((now - from) / ramp_h + 1.0)
            .min((to - now) / ramp_h + 1.0)
            .clamp(0.0, 1.0);
        if weight == 0.0 {
            continue;
        }
        if let Some(temp_degc) = span.temp_degc {
            all.temp = Some((temp_degc, weight));
        }
        all.cloud_logit += weight * span.cloud_logit;
        all.wind_factor *= 1.0 + weight * (span.wind_factor - 1.0);
        if let Some(vigour) = span.breeze {
            all.breeze = Some((vigour, weight));
        }
        all.day_wind_m_s += weight * span.day_wind_m_s;
        all.fog = all.fog.max(weight * span.fog);
    }
    all
}
