//! How long an hourly step of one column takes, by process, against a bare tridiagonal solve of the same size.
//!
//! `cargo bench --profile dev -- column` prints it. Every way is timed once a round, in turn, so that ratios hold on a
//! noisy machine; the median round counts.

// Lanes are walked by number.
#![allow(clippy::needless_range_loop)]

use std::hint::black_box;
use std::time::{Duration, Instant};

use plungeline::column::forcing::{RiverFlow, Weather};
use plungeline::column::layered::{
    Column, ColumnParameters, ColumnStep, Convection, Diffusion, Drawn, Exchanged, Grid, LayerFlows,
    ModelFactors, OxygenDemand, Site, Transport, Water, absorb_light, conductance_m3, densities_kg_m3,
    diffusivity_m2_s, site_of, stability_per_s2, take_up, withdraw_m3s,
};
use plungeline::column::network::{Layout, Part, RiverOptions};
use plungeline::column::reservoir::{Drive, Reservoir, ReservoirSetup, Shelters};
use plungeline::lake::{Hypsography, ZoneId};

/// Rounds, of which the median counts.
const ROUNDS: usize = 31;
/// Step, s.
pub const STEP_S: f64 = 3600.0;
/// Hours that the column has run from 1 March before it is timed: to the first of July.
const SPIN_UP_HOURS: usize = 122 * 24;
/// Hours that are timed.
const TIMED_HOURS: usize = 240;
/// Hours of a year.
const YEAR_HOURS: usize = 8766;
/// Steps of one process in a round.
pub const REPEATS: usize = 200;

/// A reservoir with its bed at 0 m, `layers` of 50 m in all, and `L` members with their own weather.
struct Case<const L: usize> {
    lake: Reservoir<L>,
    /// Weather of the hours of a year.
    year: Vec<[Weather; L]>,
    hour: usize,
}

impl<const L: usize> Case<L> {
    fn new(layers: usize) -> Self {
        let water = |_: usize, elevation_m: f64, _: usize| Water {
            temp_degc: 4.0 + 0.05 * elevation_m,
            oxygen_mg_l: 11.0,
            river_frac: 0.0,
        };
        let factors = std::array::from_fn(factors);
        Case {
            lake: Reservoir::filled(&setup(layers), factors, [48.0; L], water).expect("a level in the table"),
            year: (0..YEAR_HOURS).map(weather::<L>).collect(),
            hour: 0,
        }
    }

    fn step(&mut self) {
        let (river, release_m3s) = flows(self.hour);
        self.lake
            .step(&Drive {
                step_s: STEP_S,
                month0: 0,
                weather: &self.year[self.hour % YEAR_HOURS],
                rivers: &[[river; L]],
                release_m3s: &[[release_m3s; L]],
                level_m: [Some(47.5 + 0.5 * season(self.hour)); L],
            })
            .expect("the lake stays in its table");
        self.hour += 1;
    }

    fn run(&mut self, hours: usize) {
        for _ in 0..hours {
            self.step();
        }
    }
}

/// One column of even layers with one river and one outlet.
fn setup(layers: usize) -> ReservoirSetup {
    let step_m = 50.0 / layers as f64;
    let faces_m: Vec<f64> = (0..=layers).map(|i| step_m * i as f64).collect();
    let part = Part {
        zone: ZoneId::new("main"),
        hypsography: Hypsography::from_areas(vec![0.0, 20.0, 50.0], vec![2e5, 1.5e6, 6e6]),
        toward_lake: None,
        valley: None,
    };
    ReservoirSetup {
        layout: Layout::join(&faces_m, vec![part]).expect("rising elevations in the table"),
        sites: vec![site_of(6e6)],
        shelters: vec![Shelters::even(6.0)],
        extinction_per_m: [0.5; 12],
        demand: DEMAND,
        river_columns: vec![0],
        outlet_elevation_m: vec![18.0],
        river_options: RiverOptions::default(),
        without_column: Vec::new(),
    }
}

const DEMAND: OxygenDemand = OxygenDemand {
    bed_g_m2_day: 0.4,
    water_mg_l_day: 0.02,
};

/// Members a little apart.
pub fn factors(member: usize) -> ModelFactors {
    ModelFactors {
        wind_frac: 1.0 + 0.01 * member as f64,
        extinction_frac: 1.0 + 0.02 * member as f64,
        ..ModelFactors::default()
    }
}

/// Cosine of the year, 1 at its height on the first of August.
pub fn season(hour: usize) -> f64 {
    ((hour as f64 / 24.0 - 153.0) / 365.25 * std::f64::consts::TAU).cos()
}

/// Weather of invented hours since 1 March: seasons, days, fronts of some days, a little apart from member to member.
pub fn weather<const L: usize>(hour: usize) -> [Weather; L] {
    let year = season(hour);
    let day = ((hour % 24) as f64 - 14.0) / 24.0 * std::f64::consts::TAU;
    let sun = (0.35 + 0.2 * year + 0.5 * (day + 0.5).cos()).max(0.0);
    let front = (hour as f64 / 41.0).sin() + (hour as f64 / 13.7).sin();
    std::array::from_fn(|lane| {
        let apart = (hour as f64 / 17.0 + lane as f64).sin();
        let air_temp_degc = 11.0 + 10.0 * year + 4.0 * day.cos() + 2.0 * front + 0.5 * apart;
        Weather {
            air_temp_degc,
            vapour_pressure_pa: 0.7 * 610.8 * (17.27 * air_temp_degc / (air_temp_degc + 237.3)).exp(),
            pressure_pa: 99_000.0,
            wind_speed_m_s: (3.0 + 1.5 * front + 1.0 * day.cos() + 0.3 * apart).max(0.3),
            wind_from_deg: None,
            sunlight_w_m2: 900.0 * sun,
            sun_height_frac: sun,
            sky_longwave_w_m2: 300.0 + 50.0 * year + 10.0 * front,
            precipitation_m_s: Some(if front > 1.2 { 2e-7 } else { 0.0 }),
        }
    })
}

/// A river somewhat colder than the surface, and a release at depth, m3/s.
fn flows(hour: usize) -> (RiverFlow, f64) {
    let river = RiverFlow {
        discharge_m3s: 12.0 - 4.0 * season(hour),
        temp_degc: 9.0 + 7.0 * season(hour),
        oxygen_mg_l: None,
    };
    (river, 10.0)
}

/// A way of doing something: name, how often it does it in one call, the call.
pub type Way<'a> = (&'static str, usize, Box<dyn FnMut() + 'a>);

/// Median time of a call of each way, timed in turn.
pub fn medians<const N: usize>(mut ways: [Way<'_>; N]) -> [f64; N] {
    let mut times: [Vec<Duration>; N] = std::array::from_fn(|_| Vec::with_capacity(ROUNDS));
    for _ in 0..ROUNDS {
        for ((_, _, way), times) in ways.iter_mut().zip(&mut times) {
            let began = Instant::now();
            way();
            times.push(began.elapsed());
        }
    }
    std::array::from_fn(|i| {
        times[i].sort();
        times[i][ROUNDS / 2].as_secs_f64() / ways[i].1 as f64
    })
}

/// Repeats a process on a column that is set back each time.
fn repeated<'a, const L: usize>(
    state: &'a Column<L>,
    mut process: impl FnMut(&mut Column<L>) + 'a,
) -> Box<dyn FnMut() + 'a> {
    let mut column = state.clone();
    Box::new(move || {
        for _ in 0..REPEATS {
            column.clone_from(state);
            process(black_box(&mut column));
        }
    })
}

/// Prints times by process, the step, its ratio to the bare solve, and how it grows.
pub fn report() {
    let mut case = Case::<8>::new(60);
    case.run(SPIN_UP_HOURS);
    by_process(&case);
    growth();
    thirty_years();
}

fn timed<const L: usize>(layers: usize, hours: usize) -> impl FnMut() {
    let mut spun = Case::<L>::new(layers);
    spun.run(SPIN_UP_HOURS);
    let start = (spun.lake.clone(), spun.hour);
    move || {
        (spun.lake, spun.hour) = start.clone();
        spun.run(hours);
    }
}

fn by_process(case: &Case<8>) {
    let (grid, state): (&Grid, &Column<8>) = case.lake.main();
    let site: Site = site_of(6e6);
    let own: &[ColumnParameters; 8] =
        &std::array::from_fn(|member| factors(member).parameters(6.0, 0.5, DEMAND));
    // Three in the afternoon, with sun and wind.
    let air = weather::<8>(case.hour + 15);
    let layers = grid.layers();
    let mut density = vec![[0.0; 8]; layers];
    densities_kg_m3(state, &mut density);
    let (mut n2, mut diffusivity) = (vec![[0.0; 8]; layers + 1], vec![[0.0; 8]; layers + 1]);
    stability_per_s2(grid, state, &density, &mut n2);
    diffusivity_m2_s(state, &n2, (own, site), &mut diffusivity);
    let mut conductance = vec![[0.0; 8]; layers + 1];
    conductance_m3(grid, state, &diffusivity, STEP_S, &mut conductance);
    let (mut convection, mut solver) = (Convection::new(layers), Diffusion::new(layers));
    let mut within = ColumnStep::<8>::new(state);
    let light = std::array::from_fn(|lane| own[lane].light);
    let (mut d2, mut k2, mut c2) = (density.clone(), diffusivity.clone(), conductance.clone());
    let outlet = Drawn {
        elevation_m: 18.0,
        flow_m3s: [10.0; 8],
        angle_rad: std::f64::consts::PI,
    };
    let mut drawn = vec![[0.0; 8]; layers];
    withdraw_m3s(grid, state, &density, outlet, &mut drawn);
    // What leaves through the outlet comes in again in a layer under the surface.
    let mut given = LayerFlows::<8>::new(layers);
    for lane in 0..8 {
        let water = state.water(layers - 8, lane);
        for (layer, drawn_m3s) in drawn.iter().enumerate() {
            given.add(layer, lane, -drawn_m3s[lane] * STEP_S, water);
        }
        given.add(layers - 8, lane, outlet.flow_m3s[lane] * STEP_S, water);
    }
    let mut transport = Transport::new(layers);
    let names = [
        "copy of the column (in the two below)",
        "bare solve, three right-hand sides",
        "within the column, all",
        "  light",
        "  convection of stable water",
        "  density",
        "  stability and diffusivity",
        "  conductance",
        "  oxygen demand",
        "flows: withdrawal",
        "flows: transport",
    ];
    let found = medians([
        ("", REPEATS, repeated(state, |_| ())),
        (
            "",
            REPEATS,
            repeated(state, |c| {
                solver.step(
                    &c.volume_m3,
                    &conductance,
                    &mut [&mut c.temp_degc, &mut c.oxygen_mg_l, &mut c.river_frac],
                )
            }),
        ),
        (
            "",
            REPEATS,
            repeated(state, |c| {
                let exchanged: Exchanged<8> = within.step(grid, c, &air, (own, site), STEP_S);
                black_box(exchanged);
            }),
        ),
        (
            "",
            REPEATS,
            repeated(state, |c| {
                black_box(absorb_light(grid, c, &light, black_box([500.0; 8]), STEP_S));
            }),
        ),
        (
            "",
            REPEATS,
            repeated(state, |c| {
                black_box(convection.step(c));
            }),
        ),
        ("", REPEATS, repeated(state, |c| densities_kg_m3(c, &mut d2))),
        (
            "",
            REPEATS,
            repeated(state, |c| {
                stability_per_s2(grid, c, &density, &mut n2);
                diffusivity_m2_s(c, &n2, (own, site), &mut k2)
            }),
        ),
        (
            "",
            REPEATS,
            repeated(state, |c| conductance_m3(grid, c, &diffusivity, STEP_S, &mut c2)),
        ),
        (
            "",
            REPEATS,
            repeated(state, |c| {
                black_box(take_up(grid, c, own, STEP_S));
            }),
        ),
        (
            "",
            REPEATS,
            repeated(state, |c| {
                withdraw_m3s(grid, c, &density, outlet, &mut drawn);
            }),
        ),
        (
            "",
            REPEATS,
            repeated(state, |c| {
                black_box(transport.step(grid, c, &mut given, [true; 8])).expect("little water moves");
            }),
        ),
    ]);
    let [copy, bare, whole, ..] = found;
    for (i, (name, found)) in names.iter().zip(found).enumerate() {
        let net = if i < 3 { found } else { found - copy };
        println!("{name:<38} {:>8.2} us", 1e6 * net);
    }
    println!(
        "within over bare                       {:>8.2}",
        (whole - copy) / (bare - copy)
    );
}

/// A solve with three right-hand sides, 60 layers x 8 lanes, that of diffusion in still water.
pub fn bare_solve() -> impl FnMut() {
    let (mut solver, volume) = (Diffusion::<8>::new(60), vec![[1e6; 8]; 60]);
    let conductance: Vec<[f64; 8]> = (0..=60)
        .map(|face| if face % 60 == 0 { [0.0; 8] } else { [2e4; 8] })
        .collect();
    let mut fields: [Vec<[f64; 8]>; 3] =
        std::array::from_fn(|_| (0..60).map(|i| [f64::from(i); 8]).collect());
    move || {
        for _ in 0..REPEATS {
            let [a, b, c] = &mut fields;
            solver.step(black_box(&volume), black_box(&conductance), &mut [a, b, c]);
        }
    }
}

fn growth() {
    let hours = TIMED_HOURS;
    let [bare, whole, fewer, more, one, four, longer] = medians([
        ("bare", REPEATS, Box::new(bare_solve())),
        ("60 x 8", hours, Box::new(timed::<8>(60, hours))),
        ("30 x 8", hours, Box::new(timed::<8>(30, hours))),
        ("120 x 8", hours, Box::new(timed::<8>(120, hours))),
        ("60 x 1", hours, Box::new(timed::<1>(60, hours))),
        ("60 x 4", hours, Box::new(timed::<4>(60, hours))),
        ("60 x 8 long", 4 * hours, Box::new(timed::<8>(60, 4 * hours))),
    ]);
    println!("hourly step, 60 layers x 8 lanes       {:>8.2} us", 1e6 * whole);
    println!("  over the bare solve                  {:>8.2}", whole / bare);
    println!("  30 layers x 8 lanes                  {:>8.2} us", 1e6 * fewer);
    println!("  120 layers x 8 lanes                 {:>8.2} us", 1e6 * more);
    println!("  60 layers x 1 lane                   {:>8.2} us", 1e6 * one);
    println!("  60 layers x 4 lanes                  {:>8.2} us", 1e6 * four);
    println!("  four times the hours, a step         {:>8.2} us", 1e6 * longer);
}

fn thirty_years() {
    let mut case = Case::<1>::new(60);
    let began = Instant::now();
    case.run(30 * 8766);
    println!(
        "30 years hourly, one member            {:>8.2} s",
        began.elapsed().as_secs_f64()
    );
}
