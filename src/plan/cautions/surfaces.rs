//! Surfaces with their temperatures, and whether a route of today may come to them.

use super::note::{Scene, number};
use super::route::river_on_route;
use crate::column::ProfileBasis;
use crate::lake::ZoneKind;
use crate::math::quantiles::quantiles;
use crate::whereabouts::drivers::water_of;

/// One surface.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct SurfaceTemp {
    /// Zone or river.
    pub name: String,
    /// Whether it is standing water: the main body or an arm.
    pub standing: bool,
    /// Whether some route of today may come to it.
    pub on_route: bool,
    /// Whether it was measured where it is; otherwise it is modelled, or taken from elsewhere.
    pub measured: bool,
    /// Median over members, and what it may be as low as: the 10 % quantile; `None` where not known.
    pub temp: Option<LowTemp>,
}

/// A temperature over members.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LowTemp {
    pub median_degc: f64,
    pub low_degc: f64,
}

/// Every open zone with standing water, every river, those above a closed arm too, and the main body as observed.
pub(super) fn surfaces(scene: Scene) -> Vec<SurfaceTemp> {
    let mut surfaces = Vec::new();
    for zone in scene.lake.zones.iter().filter(|z| z.kind != ZoneKind::River) {
        let water = water_of(scene.water, &zone.id);
        if water.is_some_and(|w| w.closed) {
            continue;
        }
        let temp = water.and_then(|w| {
            let members: Option<Vec<f64>> = w.temp_degc.iter().map(|t| t.first().copied()).collect();
            low_temp(&members?)
        });
        surfaces.push(SurfaceTemp {
            name: zone.name.clone(),
            standing: true,
            on_route: true,
            measured: water.is_some_and(|w| is_measured(&w.basis)),
            temp,
        });
    }
    for inflow in &scene.lake.inflows {
        let river = scene.water.rivers.iter().find(|r| r.inflow == inflow.id);
        surfaces.push(SurfaceTemp {
            name: inflow.name.clone(),
            standing: false,
            on_route: river_on_route(scene, inflow),
            measured: river.is_some_and(|r| r.measured),
            temp: river.and_then(|r| low_temp(&r.temp_degc)),
        });
    }
    let observed = scene.conditions.surface.as_ref().map(|s| s.temp_degc);
    surfaces.extend(number(observed).map(|temp_degc| SurfaceTemp {
        name: scene.lake.main_body().name.clone(),
        standing: true,
        on_route: true,
        measured: true,
        temp: Some(LowTemp {
            median_degc: temp_degc,
            low_degc: temp_degc,
        }),
    }));
    surfaces
}

fn is_measured(basis: &ProfileBasis) -> bool {
    match basis {
        ProfileBasis::Measured { .. } | ProfileBasis::SurfaceMeasured { .. } => true,
        ProfileBasis::Columns { surface_measured, .. } => *surface_measured,
        ProfileBasis::SurfaceFromMainBody { .. }
        | ProfileBasis::SurfaceModelled
        | ProfileBasis::SeasonOnly => false,
    }
}

fn low_temp(members_degc: &[f64]) -> Option<LowTemp> {
    // One member that is no number makes the whole unknown.
    if !members_degc.iter().all(|t| t.is_finite()) {
        return None;
    }
    quantiles(members_degc, [0.1, 0.5]).map(|[low_degc, median_degc]| LowTemp {
        median_degc,
        low_degc,
    })
}
