//! Positions held between two hearings of a tag.

use std::collections::BTreeMap;

use chrono::{Datelike, Days, NaiveDate};

use super::FishDays;

/// One tagged fish, day by day.
#[derive(Debug, Clone, PartialEq)]
pub struct Track {
    /// Day of the capture.
    pub first_day: NaiveDate,
    /// Last day on which the tag could be heard: before it ran out, the fish was taken, or the record ends.
    pub last_day: NaiveDate,
    /// Area of the capture, a position of its day where nothing was heard on it.
    pub start: usize,
    /// Area of each day on which it was heard, all from the first to the last day.
    pub heard: BTreeMap<NaiveDate, usize>,
}

/// How positions are held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HoldRule {
    /// Two positions so many days apart, or fewer, place the days between them; 1 places only days with a hearing.
    pub gap_days: u64,
    /// Days from the capture on that are not counted; 1 leaves out the day of the capture alone.
    pub settle_days: u64,
    /// First day that is counted.
    pub from: NaiveDate,
}

/// Days of one fish by month and area.
///
/// A day with a hearing is spent in its area. Days between two positions no more than `gap_days` apart are spent in the area of
/// the nearer one, in the middle of the earlier one; days between two that lie farther apart are alive but without a place. After
/// the last hearing nothing is known, not even that the fish lives: those days are not counted. Source: project choice; that
/// positions are held between detections is common practice, no source.
pub fn held_days(track: &Track, areas: usize, rule: HoldRule) -> FishDays {
    let mut days = FishDays::none(areas);
    let counted_from = rule
        .from
        .max(track.first_day + Days::new(rule.settle_days.max(1)));
    let mut count = |day: NaiveDate, area: Option<usize>| {
        if day < counted_from || day > track.last_day {
            return;
        }
        let month = day.month0() as usize;
        match area {
            Some(area) => days.placed[month][area] += 1.0,
            None => days.unplaced_days[month] += 1.0,
        }
    };
    let mut positions = track.heard.clone();
    positions.entry(track.first_day).or_insert(track.start);
    let mut earlier: Option<(NaiveDate, usize)> = None;
    for (&day, &area) in &positions {
        if let Some((from, from_area)) = earlier {
            let apart = (day - from).num_days().unsigned_abs();
            for k in 1..apart {
                let nearer = if k <= apart - k { from_area } else { area };
                count(from + Days::new(k), (apart <= rule.gap_days).then_some(nearer));
            }
        }
        count(day, Some(area));
        earlier = Some((day, area));
    }
    days
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn rule(gap_days: u64) -> HoldRule {
        HoldRule {
            gap_days,
            settle_days: 1,
            from: day("2000-01-01"),
        }
    }

    fn track() -> Track {
        Track {
            first_day: day("2010-05-01"),
            last_day: day("2010-12-31"),
            start: 0,
            heard: [("2010-05-04", 0), ("2010-05-09", 1), ("2010-06-20", 1)]
                .map(|(d, area)| (day(d), area))
                .into(),
        }
    }

    #[test]
    fn days_go_to_the_nearer_position_and_long_silence_has_no_place() {
        // By hand: 2 to 4 May in area 0; of 5 to 8 May two days nearer each end; 9 May in area 1; 10 May to 19 June without a
        // place (22 and 19 days); 20 June in area 1; nothing after.
        let days = held_days(&track(), 2, rule(7));
        assert_eq!(
            (&days.placed[4], &days.placed[5]),
            (&vec![5.0, 3.0], &vec![0.0, 1.0])
        );
        assert_eq!((days.unplaced_days[4], days.unplaced_days[5]), (22.0, 19.0));
        let days = held_days(&track(), 2, rule(42));
        assert_eq!(
            (&days.placed[4], &days.placed[5]),
            (&vec![5.0, 25.0], &vec![0.0, 20.0])
        );
        let heard = held_days(&track(), 2, rule(1));
        assert_eq!(
            (&heard.placed[4], heard.unplaced_days[4]),
            (&vec![1.0, 1.0], 28.0)
        );
    }

    #[test]
    fn days_before_the_fish_has_settled_or_the_count_begins_are_left_out() {
        let settled = held_days(
            &track(),
            2,
            HoldRule {
                settle_days: 8,
                ..rule(7)
            },
        );
        assert_eq!(
            (&settled.placed[4], settled.unplaced_days[4]),
            (&vec![0.0, 1.0], 22.0)
        );
        let late = held_days(
            &track(),
            2,
            HoldRule {
                from: day("2010-06-01"),
                ..rule(7)
            },
        );
        assert_eq!((late.placed_days(4), late.placed_days(5)), (0.0, 1.0));
    }
}
