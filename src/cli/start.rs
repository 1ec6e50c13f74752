//! From the process's arguments to its exit status.

use std::process::ExitCode;

use clap::Parser as _;

use super::args::{Arguments, Command};
use super::{brief, digest, fit, hindcast, lake, log, output, pull, read, skill, turnover};
use crate::error::{Error, Status};

/// Runs the program: arguments, command, exit status.
pub fn main() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => error.exit(),
    };
    start_logs();
    let outcome = match arguments.command {
        Command::Brief(args) => brief::run(&args),
        Command::Pull(args) => pull::run(&args),
        Command::Read(args) => read::run(&args),
        Command::Lake(args) => lake::run(&args),
        Command::Hindcast(args) => hindcast::run(&args),
        Command::Log(args) => log::run(&args),
        Command::Digest(args) => digest::run(&args),
        Command::Fit(args) => fit::run(&args),
        Command::Skill(args) => skill::run(&args),
        Command::Turnover(args) => turnover::run(&args),
    };
    match outcome {
        Ok(status) => status.into(),
        // Whoever reads has closed the pipe: nothing is left to say, and nothing went wrong.
        Err(Error::Output { source }) if source.kind() == std::io::ErrorKind::BrokenPipe => {
            Status::Good.into()
        }
        Err(error) => {
            output::complain(&error);
            error.status().into()
        }
    }
}

/// Logs go to standard error, by `PLUNGELINE_LOG` (`info`, `debug`, ...); silent without it.
fn start_logs() {
    let filter = tracing_subscriber::EnvFilter::try_from_env("PLUNGELINE_LOG");
    if let Ok(filter) = filter {
        tracing_subscriber::fmt()
            .with_env_filter(filter)
            .with_writer(std::io::stderr)
            .init();
    }
}
