//! How long an hourly step of the demonstration lake takes: seven columns or so, two rivers, a release, eight members.
//!
//! Part of `cargo bench --profile dev -- column`.

use plungeline::column::forcing::{RiverFlow, Weather};
use plungeline::column::layered::{ModelFactors, Water};
use plungeline::column::reservoir::{Drive, Reservoir, ReservoirSetup};
use plungeline::lake::Lake;

use crate::column::{REPEATS, STEP_S, Way, bare_solve, factors, medians, season, weather};

/// Hours that the lake has run from 1 March before it is timed: to the first of July.
const SPIN_UP_HOURS: usize = 122 * 24;
/// Hours that are timed.
const TIMED_HOURS: usize = 48;

/// The lake with its members, each with its own weather and somewhat other rivers.
struct Case<const L: usize> {
    /// Blocks of members.
    blocks: Vec<Reservoir<L>>,
    outlets: usize,
    hour: usize,
}

impl<const L: usize> Case<L> {
    fn new(lake: &Lake, blocks: usize) -> Self {
        let setup = ReservoirSetup::of_lake(lake).expect("a lake with hypsography");
        let water = |_: usize, elevation_m: f64, _: usize| Water {
            temp_degc: 4.0 + 0.02 * (elevation_m - 192.0),
            oxygen_mg_l: 11.0,
            river_frac: 0.0,
        };
        let own: [ModelFactors; L] = std::array::from_fn(factors);
        let filled = Reservoir::filled(&setup, own, [level_m(0); L], water).expect("a level in the table");
        let mut case = Case {
            blocks: vec![filled; blocks],
            outlets: setup.outlet_elevation_m.len(),
            hour: 0,
        };
        case.run(SPIN_UP_HOURS);
        case
    }

    fn run(&mut self, hours: usize) {
        for _ in 0..hours {
            let mut air: [Weather; L] = weather(self.hour);
            // Up the lake by day, down it by night.
            let from_deg = if self.hour % 24 < 12 { 200.0 } else { 20.0 };
            air.iter_mut().for_each(|air| air.wind_from_deg = Some(from_deg));
            let mut release_m3s = vec![[0.0; L]; self.outlets];
            release_m3s[0] = [14.0; L];
            let drive = Drive {
                step_s: STEP_S,
                month0: 0,
                weather: &air,
                rivers: &rivers(self.hour),
                release_m3s: &release_m3s,
                level_m: [Some(level_m(self.hour + 1)); L],
            };
            for block in &mut self.blocks {
                block.step(&drive).expect("the lake stays in its table");
            }
            self.hour += 1;
        }
    }
}

/// Low in February, highest in August, the Wicket Arm open all the time, m.
fn level_m(hour: usize) -> f64 {
    250.0 + 4.0 * season(hour)
}

/// The cold Sorrel with its flood in June and the small warm Wicket.
fn rivers<const L: usize>(hour: usize) -> [[RiverFlow; L]; 2] {
    let year = season(hour);
    let flow = |mean_m3s: f64, temp_degc: f64| -> [RiverFlow; L] {
        std::array::from_fn(|lane| RiverFlow {
            discharge_m3s: mean_m3s * (1.0 + 0.02 * lane as f64),
            temp_degc,
            oxygen_mg_l: None,
        })
    };
    [
        flow(16.0 + 8.0 * year, 8.0 + 5.0 * year),
        flow(1.5, 12.0 + 10.0 * year),
    ]
}

fn timed<'a, const L: usize>(name: &'static str, lake: &Lake, blocks: usize) -> Way<'a> {
    let mut spun = Case::<L>::new(lake, blocks);
    let start = (spun.blocks.clone(), spun.hour);
    let run = move || {
        spun.blocks.clone_from(&start.0);
        spun.hour = start.1;
        spun.run(TIMED_HOURS);
    };
    (name, TIMED_HOURS, Box::new(run))
}

/// Prints the step of one block of eight members, of four blocks, and of one member.
pub fn report(lake: &Lake) {
    let [bare, block, four, one] = medians([
        ("bare", REPEATS, Box::new(bare_solve())),
        timed::<8>("a block", lake, 1),
        timed::<8>("four blocks", lake, 4),
        timed::<1>("one member", lake, 1),
    ]);
    println!("demonstration lake, hourly, x 8 lanes  {:>8.2} us", 1e6 * block);
    println!("  over the bare solve                  {:>8.2}", block / bare);
    println!("  four blocks of 8 lanes               {:>8.2} us", 1e6 * four);
    println!("  1 lane                               {:>8.2} us", 1e6 * one);
}
