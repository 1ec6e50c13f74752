//! Progress on standard error, when it is a terminal.

use std::io::IsTerminal as _;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// A bar over `steps` steps; silent where standard error is no terminal.
pub fn bar(steps: usize, what: &str) -> ProgressBar {
    let bar = ProgressBar::with_draw_target(Some(steps as u64), target());
    let style = ProgressStyle::with_template("{prefix} [{bar:24}] {pos}/{len} {wide_msg}")
        .expect("the template is a constant that the library accepts")
        .progress_chars("=> ");
    bar.set_style(style);
    bar.set_prefix(what.to_owned());
    bar
}

fn target() -> ProgressDrawTarget {
    if std::io::stderr().is_terminal() {
        ProgressDrawTarget::stderr()
    } else {
        ProgressDrawTarget::hidden()
    }
}
