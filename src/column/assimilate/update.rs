//! The analysis: one observation after the other, then the spread kept, the water set right, the increments booked.

use super::draws::{FactorSpread, from_logs, to_logs};
use super::error::AssimilationError;
use super::localisation::{Localisation, mixed_depth_m};
use super::observation::{WaterField, WaterObservation, value_at_depth};
use super::restore::{Restored, restore_water};
use crate::column::layered::{Column, Convection, FACTORS, Grid, ModelFactors};
use crate::math::ensemble::{ScalarUpdate, mean_and_variance, ordered_sum, relax_spread};

/// Farthest that a factor goes from its median, in spreads of its draws (project choice): beyond, a reading that is wrong, or a fault
/// of the model that no factor explains, would make a lake that is none.
const FARTHEST_SD: f64 = 4.0;

/// How an analysis is made.
#[derive(Debug, Clone, PartialEq)]
pub struct AssimilationOptions {
    /// How far an observation reaches.
    pub localisation: Localisation,
    /// Share of the spread of the water that is given back after the analysis, 0 to 1.
    pub relax_frac: f64,
    /// The same of the factors. They have no weather of their own that would open their spread again.
    pub factor_relax_frac: f64,
    /// Spread that the factors were drawn with.
    pub factor_spread: FactorSpread,
    /// Least share of that spread which is left to a factor.
    pub factor_least_frac: f64,
    /// Weight of observations on the factors, which belong to no depth, 0 to 1.
    pub factor_weight_frac: f64,
}

impl AssimilationOptions {
    /// A localisation, with the other numbers as they are chosen for every lake: 0.7 of the spread of the water (project choice
    /// within the 0.5 to 0.95 of Whitaker & Hamill 2012, from memory), 0.9 of the factors', which keep a quarter of
    /// their first spread (Aksoy et al. 2006, from memory), and full weight on the factors.
    pub fn of(localisation: Localisation) -> Self {
        AssimilationOptions {
            localisation,
            relax_frac: 0.7,
            factor_relax_frac: 0.9,
            factor_spread: FactorSpread::default(),
            factor_least_frac: 0.25,
            factor_weight_frac: 1.0,
        }
    }
}

/// One column of the lake with all its members: a block of lanes each.
#[derive(Debug)]
pub struct Place<'a, const L: usize> {
    /// Its layers.
    pub grid: &'a Grid,
    /// Its blocks, in the order of the factors. Shape `[block]`.
    pub columns: Vec<&'a mut Column<L>>,
}

/// What an analysis put into a lane, a term of its budget.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Increment {
    /// Heat, J.
    pub heat_j: f64,
    /// Oxygen, g.
    pub oxygen_g: f64,
    /// River water in place of other water, m3.
    pub river_m3: f64,
}

/// One observation as the members saw it before it was taken up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// The observation.
    pub observation: WaterObservation,
    /// Observation less the members' mean, and the members' variance; `None` where it lies below the bed of a member or
    /// its lake is above it, and it was left out.
    pub innovation_and_variance: Option<(f64, f64)>,
}

/// What an analysis did.
#[derive(Debug, Clone, PartialEq)]
pub struct Analysis<const L: usize> {
    /// What it put into each lane, shape `[place][block][lane]`.
    pub increments: Vec<Vec<[Increment; L]>>,
    /// Observations in the order that they were taken up in.
    pub seen: Vec<Seen>,
    /// What had to be set right.
    pub restored: Restored,
}

/// Corrects all members by observations of one time.
///
/// Observations are taken up one after the other, in order of place, depth and field, each through the ensemble's own covariances
/// with every layer within reach and with the logarithms of the factors. Layers above the surface of a lane count as
/// its surface water and are not changed. Volume, level, ice and snow stay. Source: [`ScalarUpdate`], [`relax_spread`].
///
/// # Errors
/// [`AssimilationError`]; nothing has changed then.
pub fn assimilate<const L: usize>(
    places: &mut [Place<'_, L>],
    factors: &mut [[ModelFactors; L]],
    observations: &[WaterObservation],
    options: &AssimilationOptions,
) -> Result<Analysis<L>, AssimilationError> {
    check(places, factors.len(), observations, options)?;
    let contents = |places: &[Place<'_, L>]| -> Vec<Vec<[Increment; L]>> {
        places
            .iter()
            .map(|p| p.columns.iter().map(|c| content(c)).collect())
            .collect()
    };
    let before = contents(places);
    let mut in_order = observations.to_vec();
    in_order.sort_by(|a, b| {
        let (of_a, of_b) = ((a.place, a.field, a.time), (b.place, b.field, b.time));
        a.depth_m
            .total_cmp(&b.depth_m)
            .then(of_a.cmp(&of_b))
            .then(a.value.total_cmp(&b.value))
    });
    let mut work = Work::new(places, factors);
    let mut seen = Vec::with_capacity(in_order.len());
    for observation in in_order {
        let innovation_and_variance = work.take_up(places, &observation, options);
        seen.push(Seen {
            observation,
            innovation_and_variance,
        });
    }
    work.keep_spread(places, options);
    let mut restored = Restored {
        factors: work.hand_back(factors, options),
        ..Restored::default()
    };
    for place in places.iter_mut() {
        let mut convection = Convection::new(place.grid.layers());
        for column in &mut place.columns {
            restored.add(restore_water(column, &mut convection));
        }
    }
    let mut increments = contents(places);
    for (after, before) in increments
        .iter_mut()
        .flatten()
        .flatten()
        .zip(before.iter().flatten().flatten())
    {
        after.heat_j -= before.heat_j;
        after.oxygen_g -= before.oxygen_g;
        after.river_m3 -= before.river_m3;
    }
    Ok(Analysis {
        increments,
        seen,
        restored,
    })
}

fn check<const L: usize>(
    places: &[Place<'_, L>],
    blocks: usize,
    observations: &[WaterObservation],
    options: &AssimilationOptions,
) -> Result<(), AssimilationError> {
    if blocks * L < 2 {
        return Err(AssimilationError::TooFew { found: blocks * L });
    }
    for (place, found) in places.iter().map(|p| p.columns.len()).enumerate() {
        if found != blocks {
            return Err(AssimilationError::Blocks {
                place,
                found,
                wanted: blocks,
            });
        }
    }
    if !options.localisation.fits(places.len()) {
        return Err(AssimilationError::Weights {
            found: options.localisation.place_weight.len(),
            wanted: places.len(),
        });
    }
    let sound = |o: &&WaterObservation| {
        o.place < places.len()
            && o.value.is_finite()
            && o.error > 0.0
            && (0.0..f64::INFINITY).contains(&o.depth_m)
    };
    match observations.iter().find(|o| !sound(o)) {
        None => Ok(()),
        Some(o) => Err(AssimilationError::Observation {
            place: o.place,
            depth_m: o.depth_m,
            value: o.value,
            error: o.error,
        }),
    }
}

fn content<const L: usize>(column: &Column<L>) -> [Increment; L] {
    std::array::from_fn(|lane| Increment {
        heat_j: column.heat_j(lane),
        oxygen_g: column.oxygen_g(lane),
        river_m3: column.river_m3(lane),
    })
}

/// What an analysis needs to know from before it.
struct Work {
    /// Logarithms of the factors, shape `[factor][member]`, and their spread.
    logs: Vec<Vec<f64>>,
    log_sd: Vec<f64>,
    /// Spread of every row, shape `[place][field][layer]`.
    row_sd: Vec<Vec<Vec<f64>>>,
    /// Depth of the middle of every layer, mean over the members, m, shape `[place][layer]`.
    row_depth_m: Vec<Vec<f64>>,
    /// Depth of the surface layer, mean over the members, m, shape `[place]`.
    mixed_m: Vec<f64>,
}

impl Work {
    fn new<const L: usize>(places: &[Place<'_, L>], factors: &[[ModelFactors; L]]) -> Work {
        let members: Vec<_> = factors.iter().flatten().map(to_logs).collect();
        let logs: Vec<Vec<f64>> = (0..FACTORS.len())
            .map(|k| members.iter().map(|m| m[k]).collect())
            .collect();
        let count = members.len() as f64;
        let mean = |place: &Place<'_, L>, of: &dyn Fn(&Column<L>, usize) -> f64| {
            let each = place.columns.iter().flat_map(|c| (0..L).map(|lane| of(c, lane)));
            ordered_sum(each.collect()) / count
        };
        let row_depth_m = places.iter().map(|place| {
            let level_m = mean(place, &|c, lane| c.surface_elevation_m[lane]);
            let faces = place.grid.face_elevation_m();
            faces
                .windows(2)
                .map(|pair| (level_m - 0.5 * (pair[0] + pair[1])).max(0.0))
                .collect()
        });
        let rows_sd = |place: &Place<'_, L>, field: WaterField| {
            (0..place.grid.layers())
                .map(|layer| sd(&gather(place, field, layer)))
                .collect()
        };
        Work {
            log_sd: logs.iter().map(|row| sd(row)).collect(),
            logs,
            row_sd: places
                .iter()
                .map(|p| WaterField::ALL.map(|f| rows_sd(p, f)).to_vec())
                .collect(),
            row_depth_m: row_depth_m.collect(),
            mixed_m: places
                .iter()
                .map(|p| mean(p, &|c, lane| mixed_depth_m(p.grid, c, lane)))
                .collect(),
        }
    }

    /// Takes up one observation; innovation and variance, or `None` where it was left out.
    fn take_up<const L: usize>(
        &mut self,
        places: &mut [Place<'_, L>],
        observation: &WaterObservation,
        options: &AssimilationOptions,
    ) -> Option<(f64, f64)> {
        let seen = &places[observation.place];
        let at = (observation.field, observation.depth_m);
        let members = seen
            .columns
            .iter()
            .flat_map(|c| (0..L).map(|lane| value_at_depth(seen.grid, c, lane, at)));
        let predicted: Vec<f64> = members.collect::<Option<_>>()?;
        let update = ScalarUpdate::new(
            &predicted,
            observation.value,
            observation.error * observation.error,
        )?;
        let from = (observation.depth_m, self.mixed_m[observation.place]);
        let localisation = &options.localisation;
        for (p, place) in places.iter_mut().enumerate() {
            let between = localisation.place_weight[observation.place][p];
            for (layer, depth_m) in self.row_depth_m[p].iter().enumerate() {
                let weight = between * localisation.depth_weight((*depth_m, self.mixed_m[p]), from);
                if weight == 0.0 {
                    continue;
                }
                for field in WaterField::ALL {
                    let mut row = gather(place, field, layer);
                    update.apply(&mut row, weight);
                    scatter(place, field, layer, &row);
                }
            }
        }
        for row in &mut self.logs {
            update.apply(row, options.factor_weight_frac);
        }
        Some((update.innovation(), update.variance()))
    }

    fn keep_spread<const L: usize>(&mut self, places: &mut [Place<'_, L>], options: &AssimilationOptions) {
        for (place, fields) in places.iter_mut().zip(&self.row_sd) {
            for (field, rows) in WaterField::ALL.into_iter().zip(fields) {
                for (layer, sd_before) in rows.iter().enumerate() {
                    let mut row = gather(place, field, layer);
                    relax_spread(&mut row, *sd_before, options.relax_frac);
                    scatter(place, field, layer, &row);
                }
            }
        }
        let least = options
            .factor_spread
            .log_sd
            .map(|log_sd| options.factor_least_frac * log_sd);
        for ((row, sd_before), least_sd) in self.logs.iter_mut().zip(&self.log_sd).zip(least) {
            relax_spread(row, *sd_before, options.factor_relax_frac);
            if sd(row) < least_sd {
                relax_spread(row, least_sd, 1.0);
            }
        }
    }

    /// Gives the factors back, none farther from its median than [`FARTHEST_SD`] spreads of the draws; how many were held there.
    fn hand_back<const L: usize>(
        &self,
        factors: &mut [[ModelFactors; L]],
        options: &AssimilationOptions,
    ) -> usize {
        let mut held = 0;
        for (m, factors) in factors.iter_mut().flatten().enumerate() {
            *factors = from_logs(std::array::from_fn(|k| {
                let bound = FARTHEST_SD * options.factor_spread.log_sd[k];
                let median = options.factor_spread.log_median[k];
                let log = self.logs[k][m];
                held += usize::from((log - median).abs() > bound);
                log.max(median - bound).min(median + bound)
            }));
        }
        held
    }
}

fn sd(row: &[f64]) -> f64 {
    mean_and_variance(row).map_or(0.0, |(_, variance)| variance.sqrt())
}

/// A layer of all members, shape `[member]`; above the surface of a member, its surface water.
fn gather<const L: usize>(place: &Place<'_, L>, field: WaterField, layer: usize) -> Vec<f64> {
    let of_lane = |column: &Column<L>, lane: usize| field.of(column)[layer.min(column.top[lane])][lane];
    let members = place
        .columns
        .iter()
        .flat_map(|c| (0..L).map(|lane| of_lane(c, lane)));
    members.collect()
}

/// Puts a layer back, where there is water.
fn scatter<const L: usize>(place: &mut Place<'_, L>, field: WaterField, layer: usize, row: &[f64]) {
    for (column, values) in place.columns.iter_mut().zip(row.chunks(L)) {
        for (lane, value) in values.iter().enumerate() {
            if layer <= column.top[lane] {
                field.of_mut(column)[layer][lane] = *value;
            }
        }
    }
}

impl Restored {
    fn add(&mut self, other: Restored) {
        self.factors += other.factors;
        self.frozen += other.frozen;
        self.oxygen += other.oxygen;
        self.river += other.river;
        self.mixed += other.mixed;
        self.not_kept += other.not_kept;
    }
}
