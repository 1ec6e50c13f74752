//! The runs, a thread a block: hour by hour, and of each day the mean column of every place.

use chrono::NaiveDate;

use crate::analysis::LANES;
use crate::clock::LakeClock;
use crate::column::forcing::Forcing;
use crate::column::layered::Lanes;
use crate::column::reservoir::{DriveBuffer, Reservoir, RunError};
use crate::column::turnover::{MixDay, STAYS_DAYS, SeasonEnd, season_end};

/// Hours between looks at whether the level leaves the pools.
const LOOK_H: usize = 6;
/// Days between looks at whether every place has turned over.
const DECIDED_DAYS: usize = 5;

/// When a block may end before its last hour: once every column of every lane is decided by these, first day of autumn and last of the season.
/// What has turned over stays so (`season_end`), so that the outcomes are those of whole runs.
pub(super) type EndsEarly = Option<(NaiveDate, NaiveDate)>;

/// Days of one run, place by place.
pub(super) struct RunDays {
    /// Shape `[column][day]`; a day on which the column is closed is missing.
    pub columns: Vec<Vec<MixDay>>,
    /// Whether each column is open on the last day.
    pub open: Vec<bool>,
    /// Whether the level was held at full pool or at the minimum pool.
    pub held: bool,
}

/// Runs blocks under forcings, shape `[block][lane]`, a thread a block, between levels that no pool leaves, each to the last hour unless it
/// `ends_early`.
///
/// # Errors
/// [`RunError::Step`] of the first block that fails.
pub(super) fn run_blocks(
    blocks: Vec<Reservoir<LANES>>,
    forcings: &[[&Forcing; LANES]],
    clock: &LakeClock,
    (pools_m, ends_early): ((f64, f64), EndsEarly),
) -> Result<Vec<RunDays>, RunError> {
    // One calendar for all: it is not asked hour by hour in every thread.
    let hours = forcings
        .iter()
        .flatten()
        .map(|f| f.weather.len())
        .min()
        .unwrap_or(0);
    let Some(first) = forcings.first().map(|lanes| lanes[0]) else {
        return Ok(Vec::new());
    };
    let days: Vec<NaiveDate> = (0..hours)
        .map(|hour| clock.standard_day(first.step_start(hour)))
        .collect();
    std::thread::scope(|scope| {
        let days = &days;
        // A thread a block and no more: the cores share them out evenly, whatever their number.
        let running: Vec<_> = blocks
            .into_iter()
            .zip(forcings)
            .map(|(lake, forcings)| {
                scope.spawn(move || run_block(lake, forcings, days, (pools_m, ends_early)))
            })
            .collect();
        let mut runs = Vec::new();
        for thread in running {
            let days = thread
                .join()
                .unwrap_or_else(|panic| std::panic::resume_unwind(panic))?;
            runs.extend(days);
        }
        Ok(runs)
    })
}

fn run_block(
    mut lake: Reservoir<LANES>,
    forcings: &[&Forcing; LANES],
    days: &[NaiveDate],
    ((lowest_m, highest_m), ends_early): ((f64, f64), EndsEarly),
) -> Result<Vec<RunDays>, RunError> {
    let columns = lake.network().columns().len();
    let mut runs: Vec<RunDays> = (0..LANES)
        .map(|_| RunDays {
            columns: vec![Vec::new(); columns],
            open: vec![true; columns],
            held: false,
        })
        .collect();
    // A pool above or below what is usual today may stay there.
    let start_m: Lanes<LANES> = std::array::from_fn(|lane| lake.network().level_m(lane));
    let pools = start_m.map(|m| (lowest_m.min(m), highest_m.max(m)));
    let mut hold_m: [Option<f64>; LANES] = [None; LANES];
    let mut sums = Sums::of(&lake);
    let mut buffer = DriveBuffer::default();
    let mut day_count = 0;
    for (hour, day) in days.iter().enumerate() {
        let mut drive = buffer.gather(*forcings, hour);
        drive.level_m = hold_m;
        lake.step(&drive)
            .map_err(|fault| RunError::Step { day: *day, fault })?;
        sums.add(&lake);
        if (hour + 1) % LOOK_H == 0 {
            for (lane, run) in runs.iter_mut().enumerate() {
                let level_m = lake.network().level_m(lane);
                let (low_m, high_m) = pools[lane];
                hold_m[lane] = (level_m >= high_m || level_m <= low_m).then(|| level_m.clamp(low_m, high_m));
                run.held |= hold_m[lane].is_some() && level_m != start_m[lane];
            }
        }
        if days.get(hour + 1) != Some(day) {
            sums.take(*day, &lake, &mut runs);
            day_count += 1;
            let look = ends_early.filter(|_| day_count % DECIDED_DAYS == 0);
            if look.is_some_and(|season| are_decided(&runs, *day, season)) {
                break;
            }
        }
    }
    Ok(runs)
}

/// Whether nothing that comes after `today` changes what becomes of any column: by both rules it was mixed already or has turned over, with
/// the days after it that tell whether it stays so, and the summer that is looked for before is over.
fn are_decided(runs: &[RunDays], today: NaiveDate, (autumn, last): (NaiveDate, NaiveDate)) -> bool {
    let is_over = |end: SeasonEnd, days: &[MixDay]| {
        let mixed_on = match end {
            SeasonEnd::AlreadyMixed => days.first().map(|first| first.day),
            SeasonEnd::TurnedOver { day, .. } => Some(day),
            SeasonEnd::NotTurnedOver => None,
        };
        mixed_on.is_some_and(|day| (today - day).num_days() > STAYS_DAYS)
    };
    today > autumn
        && runs.iter().flat_map(|run| &run.columns).all(|days| {
            season_end(days, (autumn, last))
                .is_some_and(|(by_density, by_degree)| is_over(by_density, days) && is_over(by_degree, days))
        })
}

/// Sums of temperature over the hours of a day, shape `[column][layer][lane]`, and how many.
struct Sums {
    temp_degc: Vec<Vec<Lanes<LANES>>>,
    summed_h: Vec<Vec<Lanes<LANES>>>,
}

impl Sums {
    fn of(lake: &Reservoir<LANES>) -> Sums {
        let none: Vec<Vec<Lanes<LANES>>> = lake
            .network()
            .columns()
            .iter()
            .map(|column| vec![[0.0; LANES]; column.layers()])
            .collect();
        Sums {
            temp_degc: none.clone(),
            summed_h: none,
        }
    }

    fn add(&mut self, lake: &Reservoir<LANES>) {
        for (i, column) in lake.network().columns().iter().enumerate() {
            let layers = self.temp_degc[i]
                .iter_mut()
                .zip(&mut self.summed_h[i])
                .zip(&column.temp_degc);
            for (layer, ((sums, hours), temp_degc)) in layers.enumerate() {
                let lanes = sums.iter_mut().zip(hours.iter_mut()).zip(temp_degc);
                for (lane, ((sum, hours), temp_degc)) in lanes.enumerate() {
                    let is_water = f64::from(u8::from(layer <= column.top[lane]));
                    *sum += is_water * temp_degc;
                    *hours += is_water;
                }
            }
        }
    }

    /// The day's columns into the runs, and empty sums again.
    fn take(&mut self, day: NaiveDate, lake: &Reservoir<LANES>, runs: &mut [RunDays]) {
        let network = lake.network();
        for (i, column) in network.columns().iter().enumerate() {
            let grid = &network.layout().places[i].grid;
            for (lane, run) in runs.iter_mut().enumerate() {
                run.open[i] = network.closed().is_open(i, lane);
                if !run.open[i] {
                    continue;
                }
                let surface_m = column.surface_elevation_m[lane];
                let layers = (0..=column.top[lane])
                    .rev()
                    .filter(|layer| self.summed_h[i][*layer][lane] > 0.0);
                let (depth_m, temp_degc): (Vec<f64>, Vec<f64>) = layers
                    .map(|layer| {
                        let mean = self.temp_degc[i][layer][lane] / self.summed_h[i][layer][lane];
                        (surface_m - column.middle_m(grid, layer, lane), mean)
                    })
                    .unzip();
                run.columns[i].extend(MixDay::of(day, &depth_m, &temp_degc));
            }
        }
        for sums in [&mut self.temp_degc, &mut self.summed_h] {
            sums.iter_mut().for_each(|column| column.fill([0.0; LANES]));
        }
    }
}
