//! Files of forecasts, and which forecasts count.

use chrono::{Days, Duration};
use plungeline::archive::{Issued, KeptDay, KeptForecast, keep_forecast};
use plungeline::reports::forecasts::counted;

use super::scene::*;

fn one() -> KeptForecast {
    forecast(
        day("2024-07-10"),
        vec![KeptDay {
            date: day("2024-07-11"),
            members: vec![20.0, 21.5],
        }],
    )
}

#[test]
fn a_forecast_is_never_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Issued::new(folder.path());
    let path = keep_forecast(&archive, &one()).unwrap();
    let before = std::fs::read(&path).unwrap();
    assert_eq!(
        keep_forecast(&archive, &one()).unwrap(),
        path,
        "the same content is one file"
    );
    let mut other = one();
    other.surface[0].members[0] = 19.0;
    assert_ne!(keep_forecast(&archive, &other).unwrap(), path);
    assert_eq!(std::fs::read(&path).unwrap(), before);
    let again: KeptForecast = serde_json::from_slice(&before).unwrap();
    assert_eq!(again, one());
    assert_eq!(archive.names().unwrap().len(), 2);
}

#[test]
fn replays_and_what_was_made_late_are_counted_and_not_scored() {
    let mut replayed = one();
    replayed.replayed = true;
    // 8:00 UTC is midnight in standard time: the next day has begun.
    let mut late = forecast(day("2024-07-12"), Vec::new());
    late.made_at = "2024-07-13T08:00:00Z".parse().unwrap();
    let mut in_time = forecast(day("2024-07-14"), Vec::new());
    in_time.made_at = "2024-07-15T07:59:59Z".parse().unwrap();
    let mut second = forecast(day("2024-07-14"), Vec::new());
    second.as_of += Duration::hours(3);
    second.made_at = second.as_of;
    let all = [second, replayed, late, in_time.clone()];
    let found = counted(&all, &clock(), false);
    assert_eq!((found.replayed, found.late, found.not_first), (1, 1, 1));
    assert_eq!(found.scored, [&in_time]);
    let rehearsed = counted(&all, &clock(), true);
    assert_eq!(
        rehearsed.scored.len(),
        2,
        "the replay counts as made at its clock"
    );
}

#[test]
fn a_day_without_an_observation_is_counted_apart() {
    let mut record = record(&truth());
    let at = record.index(day("2024-07-11")).expect("in the record");
    record.value[at] = None;
    let mut two = one();
    two.surface.push(KeptDay {
        date: day("2024-07-12"),
        members: vec![20.0, 22.0],
    });
    // Beyond the clock of the page, so not past.
    two.surface.push(KeptDay {
        date: first() + Days::new(7 * 365 + 1),
        members: vec![20.0, 22.0],
    });
    let page = skill(&[two], &record);
    let surface = surface(&page);
    assert_eq!((surface.past, surface.unobserved), (2, 1));
    assert_eq!(surface.leads.len(), 1);
    assert_eq!((surface.leads[0].to_lead_days, surface.leads[0].cases), (2, 1));
}
