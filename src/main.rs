//! The program `plungeline`: arguments in, exit status out. Everything else is in the library.

use std::process::ExitCode;

fn main() -> ExitCode {
    plungeline::cli::main()
}
