//! Progress on standard error: a bar a series on a terminal; otherwise a line a host at its start and its end. A
//! series that is stored, which outlasts any end of the program, is a line in both.

use std::collections::BTreeMap;
use std::io::IsTerminal as _;

use indicatif::{MultiProgress, ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::output;
use super::pull::Count;
use crate::lake::{Cadence, SeriesId};
use crate::series::SeriesKey;
use crate::sources::Job;

/// How much is told on the way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tell {
    /// Hosts, and each series as it is stored.
    Everything,
    /// Hosts.
    Hosts,
}

/// The requests of a round under way.
pub struct Progress {
    bars: MultiProgress,
    of_series: BTreeMap<SeriesId, ProgressBar>,
    on_terminal: bool,
    tell: Tell,
    /// Requests by host; none where nothing is to be told in lines.
    hosts: BTreeMap<&'static str, OfHost>,
}

#[derive(Default)]
struct OfHost {
    due: usize,
    answered: usize,
    failed: usize,
}

impl Progress {
    /// Starts with these requests of a lake. Of a replay, which waits for nobody, no host is told.
    pub fn start(lake: &str, work: &[Job], is_replay: bool, tell: Tell) -> Progress {
        let on_terminal = std::io::stderr().is_terminal();
        let target = if on_terminal {
            ProgressDrawTarget::stderr()
        } else {
            ProgressDrawTarget::hidden()
        };
        let bars = MultiProgress::with_draw_target(target);
        let mut hosts: BTreeMap<&'static str, OfHost> = BTreeMap::new();
        if !on_terminal && !is_replay {
            // A local file has no host.
            for job in work.iter().filter(|job| !job.host.is_empty()) {
                hosts.entry(job.host).or_default().due += 1;
            }
        }
        for (host, count) in &hosts {
            let requests = if count.due == 1 { "request" } else { "requests" };
            output::remark(&format!("asking {host}: {} {requests}", count.due));
        }
        let of_series = if on_terminal {
            series_bars(lake, work, &bars)
        } else {
            BTreeMap::new()
        };
        Progress {
            bars,
            of_series,
            on_terminal,
            tell,
            hosts,
        }
    }

    /// A request has ended.
    pub fn ended(&mut self, job: &Job, is_good: bool) {
        for want in &job.wants {
            if let Some(bar) = self.of_series.get(&want.series.id) {
                bar.inc(1);
                if bar.length() == Some(bar.position()) {
                    bar.finish_and_clear();
                }
            }
        }
        let Some(count) = self.hosts.get_mut(job.host) else {
            return;
        };
        if is_good {
            count.answered += 1;
        } else {
            count.failed += 1;
        }
        if count.answered + count.failed == count.due {
            output::remark(&format!(
                "{}: {} of {} answered",
                job.host, count.answered, count.due
            ));
        }
    }

    /// What came of a series is in the store, synced.
    pub fn stored(&self, lake: &str, key: &SeriesKey, count: Count) {
        if self.tell != Tell::Everything {
            return;
        }
        let cadence = match key.cadence {
            Cadence::Daily => "daily",
            Cadence::Continuous => "continuous",
            Cadence::Forecast => "forecast",
        };
        let line = format!(
            "stored {lake} {}/{cadence}: {} new, {} revised",
            key.id, count.added, count.revised
        );
        if self.on_terminal {
            // The terminal may be gone; there is nowhere left to say so.
            let _ = self.bars.println(line);
        } else {
            output::remark(&line);
        }
    }

    /// Ends.
    pub fn finish(self) {
        let _ = self.bars.clear();
    }
}

fn series_bars(lake: &str, work: &[Job], bars: &MultiProgress) -> BTreeMap<SeriesId, ProgressBar> {
    let mut due: BTreeMap<SeriesId, u64> = BTreeMap::new();
    for want in work.iter().flat_map(|job| &job.wants) {
        *due.entry(want.series.id.clone()).or_default() += 1;
    }
    let style = ProgressStyle::with_template("{prefix:32!} [{bar:24}] {pos}/{len}")
        .expect("the template is a constant that the library accepts")
        .progress_chars("=> ");
    due.into_iter()
        .map(|(id, count)| {
            let bar = bars.add(ProgressBar::new(count).with_style(style.clone()));
            bar.set_prefix(format!("{lake} {id}"));
            (id, bar)
        })
        .collect()
}
