//! The fuzzer's program. `PLUNGELINE_FUZZ_TARGET` names the target, `list` lists them; started by
//! `scripts/fuzz.sh`, which builds it so that the program reports where it has been.

#![no_main]

mod targets;

use std::sync::OnceLock;

use libfuzzer_sys::fuzz_target;
use targets::Target;

static TARGET: OnceLock<Target> = OnceLock::new();

fn choose() {
    let name = std::env::var("PLUNGELINE_FUZZ_TARGET").unwrap_or_default();
    let all = targets::targets();
    if name == "list" {
        for target in all {
            println!("{} {}", target.name, target.seeds);
        }
        std::process::exit(0);
    }
    let Some(target) = all.into_iter().find(|target| target.name == name) else {
        eprintln!("found PLUNGELINE_FUZZ_TARGET \"{name}\", wanted a name that `list` shows");
        std::process::exit(2);
    };
    if TARGET.set(target).is_err() {
        eprintln!("the target is chosen once");
        std::process::exit(2);
    }
}

fuzz_target!(init: choose(), |bytes: &[u8]| {
    if let Some(target) = TARGET.get() {
        (target.run)(bytes);
    }
});
