//! The network of columns: geometry, exchange, rivers, closed arms, budgets.

mod budgets;
mod closed;
mod exchange;
mod layout;
mod rivers;
mod whole;

use plungeline::column::layered::{Column, Convection, Diffusion, Water, conductance_m3};
use plungeline::column::network::{Layout, Network, Part, RiverOptions, Site};
use plungeline::lake::{Hypsography, Lake, ZoneId, read_lake_file};
use plungeline::physics::water::HEAT_CAPACITY_J_M3_K;
use plungeline::sources::service_rules;

pub fn water(temp_degc: f64, river_frac: f64) -> Water {
    Water {
        temp_degc,
        oxygen_mg_l: 9.0,
        river_frac,
    }
}

/// A basin with upright sides between two elevations, joined to an earlier one by a face of one width.
pub fn prism((bed_m, top_m): (f64, f64), area_m2: f64, toward_lake: Option<(usize, f64)>) -> Part {
    Part {
        zone: ZoneId::new("basin"),
        hypsography: Hypsography::from_areas(vec![bed_m, top_m], vec![area_m2, area_m2]),
        toward_lake: toward_lake.map(|(next, width_m)| (next, vec![(bed_m, width_m)])),
        valley: None,
    }
}

/// Faces a metre apart, or another step.
pub fn faces_m(bed_m: f64, top_m: f64, step_m: f64) -> Vec<f64> {
    let count = ((top_m - bed_m) / step_m).round() as usize;
    (0..=count).map(|i| bed_m + step_m * i as f64).collect()
}

pub fn harrow_gap() -> Lake {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/config/lakes/harrow-gap.toml");
    read_lake_file(std::path::Path::new(path), &service_rules()).unwrap()
}

/// The demonstration lake with a summer's layers.
pub fn summer<const L: usize>(layer_m: f64, level_m: [f64; L]) -> Network<L> {
    let layout = Layout::of_lake(&harrow_gap(), layer_m, 4).unwrap();
    let water = |_: usize, e: f64, _: usize| {
        let warm = 1.0 / (1.0 + (-(e - 246.0) / 2.5).exp());
        water(7.0 + 14.0 * warm, 0.0)
    };
    Network::filled(layout, RiverOptions::default(), level_m, water).unwrap()
}

/// What goes on in a column of the tests: heat through the surface, diffusion, convection, and nothing else.
pub struct Plain<const L: usize> {
    diffusion: Vec<Diffusion<L>>,
    convection: Vec<Convection>,
    conductance_m3: Vec<Vec<[f64; L]>>,
    volume_m3: Vec<Vec<[f64; L]>>,
    diffusivity_m2_s: Vec<[f64; L]>,
    /// Heat that has gone in through open surfaces, m3 degC.
    pub warmth: [f64; L],
}

impl<const L: usize> Plain<L> {
    pub fn new(layout: &Layout) -> Self {
        let layers = || layout.places.iter().map(|p| p.grid.layers());
        Plain {
            diffusion: layers().map(Diffusion::new).collect(),
            convection: layers().map(Convection::new).collect(),
            conductance_m3: layers().map(|n| vec![[0.0; L]; n + 1]).collect(),
            volume_m3: layers().map(|n| vec![[0.0; L]; n]).collect(),
            diffusivity_m2_s: vec![[3e-6; L]; layout.whole.layers() + 1],
            warmth: [0.0; L],
        }
    }

    pub fn step(&mut self, site: &Site<'_, L>, column: &mut Column<L>, heat_w_m2: f64) -> bool {
        let grid = &site.place.grid;
        for lane in 0..L {
            let Some(area_m2) = grid.surface_area_m2(column.surface_elevation_m[lane]) else {
                return false;
            };
            let warmth = heat_w_m2 * area_m2 * site.step_s / HEAT_CAPACITY_J_M3_K;
            let top = column.top[lane];
            column.temp_degc[top][lane] += warmth / column.volume_m3[top][lane];
            if site.open[lane] {
                self.warmth[lane] += warmth;
            }
        }
        let i = site.column;
        let into = &mut self.conductance_m3[i];
        conductance_m3(
            grid,
            column,
            &self.diffusivity_m2_s[..grid.layers() + 1],
            site.step_s,
            into,
        );
        self.volume_m3[i].copy_from_slice(&column.volume_m3);
        let fields = &mut [
            &mut column.temp_degc[..],
            &mut column.oxygen_mg_l,
            &mut column.river_frac,
        ];
        self.diffusion[i].step(&self.volume_m3[i], into, fields);
        self.convection[i].step(column);
        true
    }
}

/// Every number of every column, bit by bit, of one lane.
pub fn bits<const L: usize>(network: &Network<L>, lane: usize) -> Vec<u64> {
    let mut all = Vec::new();
    for (i, column) in network.columns().iter().enumerate() {
        if network.closed().is_open(i, lane) {
            for layer in 0..=column.top[lane] {
                let water = column.water(layer, lane);
                all.extend([column.volume_m3[layer][lane].to_bits(), water.temp_degc.to_bits()]);
                all.extend([water.oxygen_mg_l.to_bits(), water.river_frac.to_bits()]);
            }
        } else {
            let held = network.closed().held(i, lane);
            all.extend([
                held.volume_m3.to_bits(),
                held.water.temp_degc.to_bits(),
                held.water.river_frac.to_bits(),
            ]);
        }
    }
    all
}
