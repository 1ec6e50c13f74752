//! Progress on standard error: a bar on a terminal; otherwise a line a host at its start and its end.

use std::collections::BTreeMap;
use std::io::IsTerminal as _;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::output;
use crate::sources::Job;

/// The requests of a run under way.
pub struct Progress {
    bar: ProgressBar,
    /// Requests by host; none where nothing is to be told in lines.
    hosts: BTreeMap<&'static str, Count>,
}

#[derive(Default)]
struct Count {
    due: usize,
    answered: usize,
    failed: usize,
}

impl Progress {
    /// Starts with these requests. Of a replay, which waits for nobody, no line is told.
    pub fn start(work: &[Job], is_replay: bool) -> Progress {
        let on_terminal = std::io::stderr().is_terminal();
        let target = if on_terminal {
            ProgressDrawTarget::stderr()
        } else {
            ProgressDrawTarget::hidden()
        };
        let bar = ProgressBar::with_draw_target(Some(work.len() as u64), target);
        let style = ProgressStyle::with_template("{prefix} [{bar:24}] {pos}/{len} {wide_msg}")
            .expect("the template is a constant that the library accepts")
            .progress_chars("=> ");
        bar.set_style(style);
        bar.set_prefix("fetching");
        let mut hosts: BTreeMap<&'static str, Count> = BTreeMap::new();
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
        Progress { bar, hosts }
    }

    /// A request has ended.
    pub fn ended(&mut self, job: &Job, is_good: bool) {
        self.bar.set_message(job.label());
        self.bar.inc(1);
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

    /// Ends.
    pub fn finish(self) {
        self.bar.finish_and_clear();
    }
}
