//! `plungeline lake`: check and show lake files.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use crate::faces::faults::{render_count, render_fault};
use crate::faces::lake::{ReaderUnits, render_lake};
use crate::lake::{Lake, LakeError, ServiceRule, read_lake_file};

/// Exit status when every file is good.
const GOOD: u8 = 0;
/// Exit status for a file that is faulty or cannot be read.
const FAULTY: u8 = 2;

/// Check or show a lake description.
#[derive(Debug, clap::Args)]
pub struct LakeArgs {
    #[command(subcommand)]
    command: LakeCommand,
}

#[derive(Debug, clap::Subcommand)]
enum LakeCommand {
    /// Print every fault of lake files, each with its line and how to mend it.
    Check {
        /// Lake files.
        #[arg(required = true, value_name = "FILE")]
        files: Vec<PathBuf>,
    },
    /// Print what is understood of a lake file.
    Show {
        /// Lake file.
        #[arg(value_name = "FILE")]
        file: PathBuf,
        /// Units to show it in.
        #[arg(long, value_enum, default_value_t)]
        units: ReaderUnits,
    },
}

/// Runs the command: results and faults to `out`, counts and reasons to `err`. Gives the exit status, 0
/// or 2.
///
/// # Errors
/// When `out` or `err` cannot be written to.
pub fn run(
    args: &LakeArgs,
    services: &[ServiceRule],
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> io::Result<u8> {
    let mut status = GOOD;
    match &args.command {
        LakeCommand::Check { files } => {
            for file in files {
                if read(file, services, out, err)?.is_some() {
                    writeln!(err, "{}: {}", file.display(), render_count(0))?;
                } else {
                    status = FAULTY;
                }
            }
        }
        LakeCommand::Show { file, units } => match read(file, services, out, err)? {
            Some(lake) => write!(out, "{}", render_lake(&lake, *units))?,
            None => status = FAULTY,
        },
    }
    Ok(status)
}

/// The lake of a file; `None` after saying why there is none.
fn read(
    file: &Path,
    services: &[ServiceRule],
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> io::Result<Option<Lake>> {
    match read_lake_file(file, services) {
        Ok(lake) => Ok(Some(lake)),
        Err(LakeError::Faulty { faults, .. }) => {
            // Only faults go to `out`, so that every line of it begins with a place.
            for fault in &faults {
                writeln!(out, "{}", render_fault(fault))?;
            }
            writeln!(err, "{}: {}", file.display(), render_count(faults.len()))?;
            Ok(None)
        }
        Err(unreadable @ LakeError::Unreadable { .. }) => {
            writeln!(err, "{unreadable}")?;
            Ok(None)
        }
    }
}

#[cfg(test)]
mod tests {
    use clap::Parser;

    use super::*;

    #[derive(Parser)]
    struct Program {
        #[command(flatten)]
        lake: LakeArgs,
    }

    fn ran(words: &[&str]) -> (u8, String, String) {
        let program = Program::parse_from(std::iter::once(&"lake").chain(words));
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let status = run(&program.lake, &[], &mut out, &mut err).expect("writing into memory cannot fail");
        let text = |bytes| String::from_utf8(bytes).expect("we write UTF-8");
        (status, text(out), text(err))
    }

    #[test]
    fn every_line_of_a_check_begins_with_a_place_and_the_count_stands_apart() {
        let file = concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/fixtures/damaged/lake-twelve-faults.toml"
        );
        let (status, out, err) = ran(&["check", file]);
        assert_eq!(status, 2);
        for line in out.lines() {
            let place: Vec<&str> = line
                .strip_prefix(&format!("{file}:"))
                .expect("the file")
                .splitn(3, ':')
                .collect();
            assert!(
                place[0].parse::<u32>().is_ok() && place[1].parse::<u32>().is_ok(),
                "{line}"
            );
        }
        assert!(err.ends_with("faults\n"), "{err}");
    }

    #[test]
    fn a_file_that_is_not_there_is_named_and_the_status_remembers_it() {
        let (status, out, err) = ran(&["show", "no-such-lake.toml", "--units", "metric"]);
        assert_eq!((status, out.as_str()), (2, ""));
        assert!(err.contains("no-such-lake.toml"), "{err}");
    }
}
