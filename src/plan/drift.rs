//! What the wind's drift does to a speed over ground.

use serde::{Deserialize, Serialize};

use super::hours::PlanHours;
use crate::physics::waves::{LEAST_SURFACE_DRIFT_FRAC, MOST_SURFACE_DRIFT_FRAC};

/// Drift of the surface in the strongest wind of the trip. A speed over ground reads more than the speed through the water by
/// so much down the wind, and less by so much up it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SurfaceDrift {
    /// Least of what is published for such a wind.
    pub speed_min_m_s: f64,
    /// Most of it.
    pub speed_max_m_s: f64,
    /// The wind: the mean that nine members in ten stay below.
    pub wind_speed_m_s: f64,
    /// Direction that it blows from; `None` where it is not known.
    pub wind_direction_deg: Option<f64>,
}

impl SurfaceDrift {
    /// Of the hours from the beginning of the trip to its end; `None` where their wind is not known, or too old to trust.
    pub fn of(hours: &PlanHours) -> Option<SurfaceDrift> {
        if !hours.wind_known || hours.wind_late {
            return None;
        }
        let trip = hours.hours.iter().filter(|h| h.time <= hours.to);
        let strongest = trip.max_by(|a, b| {
            a.wind_speed_m_s
                .unwrap_or(0.0)
                .total_cmp(&b.wind_speed_m_s.unwrap_or(0.0))
        })?;
        let wind_speed_m_s = strongest.wind_speed_m_s?;
        Some(SurfaceDrift {
            speed_min_m_s: LEAST_SURFACE_DRIFT_FRAC * wind_speed_m_s,
            speed_max_m_s: MOST_SURFACE_DRIFT_FRAC * wind_speed_m_s,
            wind_speed_m_s,
            wind_direction_deg: strongest.wind_direction_deg,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::cautions::morning_tests::Morning;
    use crate::plan::hours::plan_hours;

    fn hours_of(morning: &Morning) -> PlanHours {
        plan_hours(&morning.lake, &morning.conditions, &morning.water)
    }

    #[test]
    fn the_drift_is_two_to_three_hundredths_of_the_strongest_wind() {
        let mut morning = Morning::calm();
        morning.set_wind(8.0, Some(11.0), Some(270.0));
        morning.set_wind_hours(&[(4.0, 6.0, None), (8.0, 11.0, Some(270.0)), (5.0, 7.0, None)]);
        let drift = SurfaceDrift::of(&hours_of(&morning)).unwrap();
        assert!((drift.speed_min_m_s - 0.16).abs() < 1e-12 && (drift.speed_max_m_s - 0.24).abs() < 1e-12);
        assert_eq!(drift.wind_direction_deg, Some(270.0));
    }

    #[test]
    fn without_wind_in_time_there_is_no_drift() {
        assert_eq!(SurfaceDrift::of(&hours_of(&Morning::without_feeds())), None);
        let mut hours = hours_of(&Morning::calm());
        hours.wind_late = true;
        assert_eq!(SurfaceDrift::of(&hours), None);
    }
}
