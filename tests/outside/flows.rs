//! Baseflow and pulses against the rows S-BF-*, S-PU-*, S-REC, and against a recorded reservoir.

use std::sync::Arc;

use chrono::{NaiveDate, TimeZone, Utc};
use plungeline::clock::LakeClock;
use plungeline::conditions::balance::{DayValue, inferred_inflow};
use plungeline::conditions::baseflow::{
    EckhardtFilter, PROJECT_FILTER, baseflow_of_record, chapman_maxwell_baseflow_m3s, eckhardt_baseflow_m3s,
};
use plungeline::conditions::discharge::{Discharge, believable_discharge};
use plungeline::conditions::flashiness::{mean_relative_step_frac, richards_baker_frac};
use plungeline::conditions::lyne_hollick::{LYNE_HOLLICK_FRAC, lyne_hollick_baseflow_m3s};
use plungeline::conditions::pulse::{find_pulses, quickflow_volume_m3, recession_per_day};
use plungeline::lake::{Cadence, SeriesId};
use plungeline::series::daily::daily_series;
use plungeline::series::{Approval, Daily, Flag, Observation, Provenance, SeriesKey, SeriesSet};
use plungeline::species::Ramp;
use plungeline::species::response::PulseShape;
use plungeline::units::{M3_PER_ACRE_FT, M3S_PER_CFS};
use plungeline::whereabouts::response::pulse;

use crate::{published::row, validation};

/// Table Q1 of series-and-skill 3.1: daily flow, cfs. The filters are linear, so cfs go straight in.
const Q1: [f64; 20] = [
    120.0, 118.0, 115.0, 113.0, 110.0, 310.0, 820.0, 1450.0, 1100.0, 760.0, 560.0, 430.0, 350.0, 300.0,
    265.0, 240.0, 222.0, 208.0, 197.0, 188.0,
];

fn baseflow_index(baseflow: &[f64]) -> f64 {
    baseflow.iter().sum::<f64>() / Q1.iter().sum::<f64>()
}

fn eckhardt(recession_frac: f64, bfi_max_frac: f64) -> Vec<f64> {
    eckhardt_baseflow_m3s(
        &Q1,
        EckhardtFilter {
            recession_frac,
            bfi_max_frac,
        },
        Q1[0],
    )
}

#[test]
fn eckhardts_baseflow_is_that_of_the_baseflow_package() {
    let baseflow = eckhardt(0.98, 0.80);
    row("S-BF-EK-7").assert(&[baseflow[7]]);
    row("S-BF-EK-19").assert(&[baseflow[19]]);
    row("S-BF-EK-BFI").assert(&[baseflow_index(&baseflow)]);
    row("S-BF-EK2").assert(&[baseflow_index(&eckhardt(0.95, 0.50))]);
}

#[test]
fn chapman_and_maxwells_baseflow_is_that_of_the_baseflow_package_and_eckhardts_at_one_half() {
    let baseflow = chapman_maxwell_baseflow_m3s(&Q1, 0.98, Q1[0]);
    row("S-BF-CM-7").assert(&[baseflow[7]]);
    row("S-BF-CM-19").assert(&[baseflow[19]]);
    row("S-BF-CM-BFI").assert(&[baseflow_index(&baseflow)]);
    let apart = eckhardt(0.98, 0.50)
        .iter()
        .zip(&baseflow)
        .map(|(e, c)| (e - c).abs())
        .fold(0.0, f64::max);
    row("S-BF-id").assert(&[apart]);
}

#[test]
fn lyne_and_hollicks_baseflow_is_that_of_hydrosignatures_in_one_and_in_three_passes() {
    let once = lyne_hollick_baseflow_m3s(&Q1, LYNE_HOLLICK_FRAC, 1);
    row("S-BF-LH1-7").assert(&[once[7]]);
    row("S-BF-LH1-19").assert(&[once[19]]);
    row("S-BF-LH1-BFI").assert(&[baseflow_index(&once)]);
    let thrice = lyne_hollick_baseflow_m3s(&Q1, LYNE_HOLLICK_FRAC, 3);
    row("S-BF-LH3-7").assert(&[thrice[7]]);
    row("S-BF-LH3-19").assert(&[thrice[19]]);
    row("S-BF-LH3-BFI").assert(&[baseflow_index(&thrice)]);
}

#[test]
fn the_flashiness_is_richards_and_bakers_and_not_the_mean_relative_step() {
    let index = richards_baker_frac(&Q1).expect("twenty flows");
    row("S-RB").assert(&[index]);
    let other = mean_relative_step_frac(&Q1).expect("no flow of 0");
    row("S-RBtrap").assert(&[other]);
    // The two differ by 0.009, three orders above either row's tolerance.
    assert!((index - other).abs() > 0.005, "{index} {other}");
}

#[test]
fn the_pulse_of_the_worked_flood_begins_peaks_and_ends_on_the_worked_days() {
    let some = |v: &[f64]| v.iter().copied().map(Some).collect::<Vec<_>>();
    let (flow, base) = (some(&Q1), some(&eckhardt(0.98, 0.80)));
    let pulses = find_pulses(&flow, &base);
    assert_eq!(pulses.len(), 1);
    row("S-PU-on").assert(&[
        pulses[0].onset as f64,
        pulses[0].peak as f64,
        pulses[0].last as f64,
    ]);
    let volume_acre_ft = quickflow_volume_m3(&flow, &base, &pulses[0]) * M3S_PER_CFS / M3_PER_ACRE_FT;
    row("S-PU-vol").assert(&[volume_acre_ft]);
}

/// Newest flow over its baseflow by the project's filter, and how many pulses the record has.
fn ratio_and_pulses(flow: &[f64]) -> (f64, usize) {
    let flow: Vec<Option<f64>> = flow.iter().copied().map(Some).collect();
    let base = baseflow_of_record(&flow, PROJECT_FILTER);
    let newest = flow.len() - 1;
    let ratio = flow[newest].expect("a flow") / base[newest].expect("a baseflow after 60 days");
    (ratio, find_pulses(&flow, &base).len())
}

#[test]
fn a_steady_river_stands_at_the_inverse_of_the_largest_share() {
    // Fixed point of Eckhardt's equation: b = B Q, hence Q / b = 1 / 0.80 = 1.25.
    let (ratio, pulses) = ratio_and_pulses(&[10.0; 1000]);
    assert!((ratio - 1.25).abs() < 1e-3, "{ratio}");
    assert_eq!(pulses, 0);
}

#[test]
fn noise_of_a_tenth_either_way_is_no_pulse() {
    let day_to_day: Vec<f64> = (0..1000).map(|i| if i % 2 == 0 { 9.0 } else { 11.0 }).collect();
    assert_eq!(ratio_and_pulses(&day_to_day).1, 0);
    // The worst case: low for years, b = 0.8 x 9 = 7.2, then one high day. By hand its baseflow is
    // (0.196 x 7.2 + 0.016 x 11) / 0.216 = 7.348, and 11 / 7.348 = 1.497 is below 1.5.
    let mut low_then_high = vec![9.0; 1000];
    low_then_high.push(11.0);
    let (ratio, pulses) = ratio_and_pulses(&low_then_high);
    assert!((ratio - 1.497).abs() < 1e-3, "{ratio}");
    assert_eq!(pulses, 0);
}

#[test]
fn a_day_of_a_fifth_more_is_hardly_a_pulse() {
    let mut flow = vec![10.0; 1000];
    flow.push(12.0);
    // By hand, from b = 8: (0.196 x 8 + 0.016 x 12) / 0.216 = 8.148, and 12 / 8.148 = 1.473. With a largest
    // share of 0.50 it would be 2.38, and ln(2.38 / 1.5) / ln(4 / 1.5) = 0.47 of a full pulse.
    let (ratio, _) = ratio_and_pulses(&flow);
    assert!((ratio - 1.473).abs() < 1e-3, "{ratio}");
    let shape = PulseShape {
        ratio: Ramp::new(1.5, 4.0).expect("growing"),
        fade_days: 5.0,
    };
    assert!(pulse(ratio, 0.0, shape) <= 0.05);
}

#[test]
fn the_recession_of_the_worked_flood_is_numpys() {
    let k = recession_per_day(&Q1[10..]).expect("ten falling days");
    row("S-REC").assert(&[k, 0.5_f64.ln() / k.ln()]);
}

// The recorded reservoir: daily operations 2003-2023 with computed inflow, in cfs and acre-feet. Its faults
// are stated in the record's own description: inflow to -717 cfs, evaporation +16 049 and -8 195 cfs.

struct Operations {
    clock: LakeClock,
    inflow_rows: Vec<Observation>,
    inflow: Daily,
    balance: Daily,
}

fn observations(rows: &[(NaiveDate, f64)], clock: &LakeClock) -> Vec<Observation> {
    let provenance = Arc::new(Provenance {
        service: "csv".to_owned(),
        station: "operations.csv".to_owned(),
        parameter: String::new(),
        original_unit: String::new(),
        retrieved_at: Utc.with_ymd_and_hms(2024, 1, 1, 0, 0, 0).unwrap(),
    });
    let row = |(date, value): &(NaiveDate, f64)| Observation {
        time: clock.standard_day_start(*date),
        depth_m: None,
        value: Some(*value),
        original_value: None,
        approval: Approval::Unstated,
        qualifier: None,
        // Simple means in place of the quality tests: a discharge below 0 fails.
        flag: if *value < 0.0 {
            Flag::Fail
        } else {
            Flag::NotEvaluated
        },
        provenance: Arc::clone(&provenance),
    };
    rows.iter().map(row).collect()
}

fn operations() -> Option<Operations> {
    let path = validation::data("lakes/millerton-reservoir/operations.csv")?;
    let mut reader = csv::Reader::from_path(path).expect("a readable record");
    let headers = reader.headers().expect("a header").clone();
    let column = |name: &str| {
        headers
            .iter()
            .position(|h| h == name)
            .unwrap_or_else(|| panic!("no column {name}"))
    };
    let outflows = [
        "spill_cfs",
        "friant_kern_canal_cfs",
        "madera_canal_cfs",
        "river_release_cfs",
    ]
    .map(column);
    let (time, inflow, evaporation, storage) = (
        column("time"),
        column("inflow_cfs"),
        column("evaporation_cfs"),
        column("storage_acre_ft"),
    );
    let clock = LakeClock::new(chrono_tz::America::Los_Angeles);
    let mut columns: [Vec<(NaiveDate, f64)>; 4] = Default::default();
    for record in reader.records() {
        let record = record.expect("a readable row");
        let date: NaiveDate = record[time].parse().expect("a date");
        let number = |i: usize| record[i].parse::<f64>().expect("a number");
        let release: f64 = outflows.iter().map(|i| number(*i)).sum();
        let values = [
            number(inflow) * M3S_PER_CFS,
            release * M3S_PER_CFS,
            number(evaporation) * M3S_PER_CFS,
            number(storage) * M3_PER_ACRE_FT,
        ];
        for (column, value) in columns.iter_mut().zip(values) {
            column.push((date, value));
        }
    }
    let mut set = SeriesSet {
        as_of: Utc.with_ymd_and_hms(2024, 1, 1, 12, 0, 0).unwrap(),
        ..SeriesSet::default()
    };
    let mut daily = |name: &str, rows: &[(NaiveDate, f64)]| {
        let id = SeriesId::new(name);
        set.observations.insert(
            SeriesKey {
                id: id.clone(),
                cadence: Cadence::Daily,
            },
            observations(rows, &clock),
        );
        daily_series(&set, &id, &clock).expect("twenty years of values")
    };
    let [inflow_rows, release, evaporation, storage] = columns;
    let record = daily("inflow", &inflow_rows);
    let balance = inferred_inflow(
        &daily("storage", &storage),
        DayValue::EndOfDay,
        &daily("release", &release),
        Some(&daily("evaporation", &evaporation)),
    );
    Some(Operations {
        clock,
        inflow: record,
        balance: balance.expect("twenty years close"),
        inflow_rows: observations(&inflow_rows, &clock),
    })
}

fn believed(operations: &Operations) -> Discharge {
    let Operations {
        clock,
        inflow_rows,
        inflow,
        balance,
    } = operations;
    believable_discharge(inflow, inflow_rows, clock, Some(balance)).expect("twenty years of inflow")
}

fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).expect("a date")
}

#[test]
fn a_recorded_negative_inflow_is_never_used_as_a_discharge() {
    let Some(operations) = operations() else { return };
    assert!(
        operations.inflow.get(day(2009, 11, 21)).is_none(),
        "flag 4 never enters a daily series"
    );
    let found = believed(&operations);
    assert!(found.computed);
    assert!(found.daily.value.iter().flatten().all(|q| *q > 0.0));
    // By hand from the record, cfs: 463, 464, 409, -717 (21 November 2009), 116, 142, 146; and 168, 131, -231
    // (21 November 2022), 15, 43. Means of three days that come out negative are no discharge.
    for (date, raw_cfs, mean_cfs) in [
        (
            day(2009, 11, 20),
            Some(409.0),
            Some((464.0 + 409.0 - 717.0) / 3.0),
        ),
        (day(2009, 11, 21), Some(-717.0), None),
        (day(2009, 11, 22), Some(116.0), None),
        (
            day(2009, 11, 23),
            Some(142.0),
            Some((116.0 + 142.0 + 146.0) / 3.0),
        ),
        (
            day(2022, 11, 20),
            Some(131.0),
            Some((168.0 + 131.0 - 231.0) / 3.0),
        ),
        (day(2022, 11, 21), Some(-231.0), None),
        (day(2022, 11, 22), Some(15.0), None),
    ] {
        let near = |found: Option<f64>, wanted: Option<f64>| match (found, wanted) {
            (Some(found), Some(wanted)) => (found / M3S_PER_CFS - wanted).abs() < 1e-6,
            (found, wanted) => found.is_none() && wanted.is_none(),
        };
        let time = operations.clock.standard_day_start(date);
        let raw = operations.inflow_rows.iter().find(|row| row.time == time);
        assert!(near(raw.and_then(|row| row.value), raw_cfs), "{date}: {raw:?}");
        let mean = found.daily.get(date);
        assert!(near(mean, mean_cfs), "{date}: {mean:?}, {mean_cfs:?} cfs");
    }
}

#[test]
fn a_recorded_evaporation_fault_does_not_become_a_flood() {
    let Some(operations) = operations() else { return };
    // 2021-08-30: inflow 17 373 cfs between 377 and 1 717, with an evaporation of 16 049 cfs.
    let raw_cfs = operations.inflow.get(day(2021, 8, 30)).expect("a value") / M3S_PER_CFS;
    assert!((raw_cfs - 17_373.0).abs() < 1e-6, "{raw_cfs}");
    let inferred_cfs = operations.balance.get(day(2021, 8, 30)).expect("a balance") / M3S_PER_CFS;
    assert!((0.0..3000.0).contains(&inferred_cfs), "{inferred_cfs}");
    let found = believed(&operations);
    assert!(found.disbelieved.contains(&day(2021, 8, 30)));
    // Without it the mean of that day is that of its neighbours.
    let mean_cfs = found.daily.get(day(2021, 8, 30)).expect("a mean of two") / M3S_PER_CFS;
    assert!((mean_cfs - (377.0 + 1717.0) / 2.0).abs() < 1e-6, "{mean_cfs}");
    for date in day(2021, 8, 26).iter_days().take(9) {
        let q_cfs = found.daily.get(date).map(|q| q / M3S_PER_CFS);
        assert!(q_cfs.is_none_or(|q| q < 3000.0), "{date}: {q_cfs:?}");
    }
}

#[test]
fn the_smoothed_inflow_of_twenty_recorded_years_holds_the_water_of_the_record() {
    let Some(operations) = operations() else { return };
    let found = believed(&operations);
    let sum = |d: &Daily| d.value.iter().flatten().sum::<f64>();
    // The dropped spikes are a handful of days of 7 670: the water differs by less than 1 %.
    let ratio = sum(&found.daily) / sum(&operations.inflow);
    assert!((0.99..=1.01).contains(&ratio), "{ratio}");
    assert!(found.disbelieved.len() <= 10, "{:?}", found.disbelieved);
    // Its noise is that of a level read to hundredths of a foot on 2 000 to 4 900 acres: 20 to 60 cfs a day
    // (row S-MB-sig: 60.6 cfs for 0.02 ft on 4 250 acres), and a third of it in the mean of three days.
    let noise_cfs = found.noise_m3s / M3S_PER_CFS;
    assert!((5.0..60.0).contains(&noise_cfs), "{noise_cfs}");
}

#[test]
fn the_pulses_of_the_wet_winter_of_2017_are_real_rises() {
    let Some(operations) = operations() else { return };
    let flow = believed(&operations).daily;
    let base = baseflow_of_record(&flow.value, PROJECT_FILTER);
    let pulses = find_pulses(&flow.value, &base);
    let winter: Vec<_> = pulses
        .iter()
        .filter(|p| (day(2016, 12, 1)..day(2017, 4, 1)).contains(&flow.date(p.onset)))
        .collect();
    assert!((2..=10).contains(&winter.len()), "{winter:?}");
    for pulse in &winter {
        let flow_on = |i: usize| flow.value[i].expect("a pulse begins and peaks on days with a value");
        let before = flow.value[pulse.onset - 1].expect("an onset has a day before it");
        assert!(flow_on(pulse.peak) >= 1.5 * before, "{pulse:?}");
        // The lake itself says so: the balance inflow of the peak's three days is as high.
        let stored: Vec<f64> = (pulse.peak - 1..=pulse.peak + 1)
            .filter_map(|i| operations.balance.get(flow.date(i)))
            .collect();
        let mean = stored.iter().sum::<f64>() / stored.len() as f64;
        assert!(
            (mean / flow_on(pulse.peak) - 1.0).abs() < 0.15,
            "{pulse:?}: {mean}"
        );
    }
    // The two great rises of the raw record, 14 773 and 19 499 cfs on 8 and 9 January, 19 051 cfs on 7 February.
    for peak in [day(2017, 1, 9), day(2017, 2, 8)] {
        let near = winter
            .iter()
            .any(|p| (flow.date(p.peak) - peak).num_days().abs() <= 3);
        assert!(near, "no pulse peaks near {peak}");
    }
}
