//! What every caution is made with.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};

use crate::column::Water;
use crate::conditions::Conditions;
use crate::lake::{Hazard as Shoal, Lake};
use crate::plan::level::JudgedLevel;
use crate::plan::{Caution, CautionLevel, Hazard, OfficialAlerts, RampState, ShoalState};

/// Everything that a caution may look at.
#[derive(Clone, Copy)]
pub(super) struct Scene<'a> {
    pub lake: &'a Lake,
    pub conditions: &'a Conditions,
    pub water: &'a Water,
    pub ramps: &'a [RampState],
    pub alerts: &'a OfficialAlerts,
    pub as_of: DateTime<Utc>,
}

/// A caution with its threshold and source, without figures, names and hours.
pub(super) fn caution(hazard: Hazard, level: CautionLevel, threshold: &str, source: &str) -> Caution {
    Caution {
        hazard,
        level,
        figures: BTreeMap::new(),
        names: Vec::new(),
        shoals: Vec::new(),
        lights_due: Vec::new(),
        colder_off_route: None,
        products: Vec::new(),
        threshold: threshold.to_owned(),
        source: source.to_owned(),
        from: None,
        to: None,
        peak_at: None,
    }
}

/// The caution of a danger that cannot be judged, with the feeds that are missing.
pub(super) fn not_known(hazard: Hazard, missing: Vec<String>, threshold: &str, source: &str) -> Caution {
    Caution {
        names: missing,
        ..caution(hazard, CautionLevel::NotKnown, threshold, source)
    }
}

impl Caution {
    pub(super) fn with_figure(mut self, name: &str, value: f64) -> Caution {
        self.figures.insert(name.to_owned(), value);
        self
    }

    pub(super) fn with_figure_if(self, name: &str, value: Option<f64>) -> Caution {
        match value {
            Some(value) => self.with_figure(name, value),
            None => self,
        }
    }

    pub(super) fn with_names(mut self, names: impl IntoIterator<Item = String>) -> Caution {
        self.names.extend(names);
        self
    }

    /// Adds shoals, the nearest to the surface first.
    pub(super) fn with_shoals(mut self, shoals: &[&Shoal], level: JudgedLevel) -> Caution {
        self.shoals.extend(shoals.iter().map(|shoal| ShoalState {
            name: shoal.name.clone(),
            zone: shoal.zone.clone(),
            // Of all levels that the pool may stand at, the one at which the shoal is nearest the surface.
            water_over_m: shoal.top_elevation_m.clamp(level.lowest_m, level.newest_m) - shoal.top_elevation_m,
        }));
        self.shoals
            .sort_by(|a, b| a.water_over_m.abs().total_cmp(&b.water_over_m.abs()));
        self
    }

    pub(super) fn highest_at(mut self, hour: Option<DateTime<Utc>>) -> Caution {
        self.peak_at = hour;
        self
    }

    pub(super) fn between(mut self, from: DateTime<Utc>, to: DateTime<Utc>) -> Caution {
        (self.from, self.to) = (Some(from), Some(to));
        self
    }
}

/// A figure that is a number; anything else counts as missing.
pub(super) fn number(figure: Option<f64>) -> Option<f64> {
    figure.filter(|x| x.is_finite())
}
