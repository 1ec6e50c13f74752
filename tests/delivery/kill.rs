//! The program is killed at random instants while it sends. Nobody gets a letter twice, no letter is lost, and what nobody can know
//! is listed as unknown.
//!
//! `PLUNGELINE_KILLS` is the number of kills (default 25).

use std::process::Stdio;
use std::time::{Duration, Instant};

use plungeline::delivery::DeliveryState as State;

use super::Scene;
use super::server::{Does, Server, Step};

const READERS: usize = 8;

/// A number from 0 to 1 that differs from round to round (the mixing step of splitmix64, Steele et al. 2014).
fn draw(round: u64) -> f64 {
    let mut z = round.wrapping_add(1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
}

fn server() -> Server {
    // An answer takes a few milliseconds, as anywhere: that is the window in which a letter's fate is unknown.
    Server::playing(None, |step, _, _| match step {
        Step::Dot => Does::Slowly(Duration::from_millis(5)),
        Step::Data => Does::Slowly(Duration::from_millis(2)),
        _ => Does::Well,
    })
}

#[test]
fn a_run_killed_at_any_instant_sends_nothing_twice_and_loses_nothing() {
    let kills: u64 = std::env::var("PLUNGELINE_KILLS").map_or(25, |text| text.parse().expect("a number"));
    let took = {
        let (scene, server) = (Scene::new(READERS), server());
        scene.settings(server.port, "", "");
        let began = Instant::now();
        assert_eq!(Scene::ran(scene.sending(&[])).0, 0);
        began.elapsed()
    };
    let (mut sent, mut unknown, mut unknown_arrived, mut in_the_middle, mut ended_before) = (0, 0, 0, 0, 0);
    for round in 0..kills {
        let (scene, server) = (Scene::new(READERS), server());
        scene.settings(server.port, "", "");
        let mut child = scene
            .sending(&[])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the program starts");
        std::thread::sleep(took.mul_f64(draw(round)));
        child.kill().expect("killed, or gone already");
        ended_before += usize::from(child.wait().expect("gone").success());

        // What the ledger says of each reader at this instant is true.
        let counts = server.counts();
        for row in scene.rows() {
            let address = row.address.expect("nobody has left");
            let count = counts.get(&address).copied().unwrap_or(0);
            match row.state {
                State::Handed => assert_eq!(count, 1, "round {round}: {address} handed over"),
                State::Due | State::Claimed => assert_eq!(count, 0, "round {round}: {address} is still due"),
                State::Sending => assert!(count <= 1, "round {round}: {address}"),
                other => panic!("round {round}: {address} is {}", other.word()),
            }
        }
        let middle = scene.count(State::Sending);
        assert!(middle <= 1, "round {round}: one letter at a time");
        in_the_middle += usize::from(!counts.is_empty() && counts.len() < READERS);

        let (status, _, told) = Scene::ran(scene.sending(&[]));
        assert_eq!(status, i32::from(middle > 0), "round {round}: {told}");
        let counts = server.counts();
        for row in scene.rows() {
            let address = row.address.clone().expect("nobody has left");
            let count = counts.get(&address).copied().unwrap_or(0);
            match row.state {
                State::Handed => assert_eq!(count, 1, "round {round}: {address}: duplicate or lost"),
                State::Unknown => {
                    assert!(count <= 1, "round {round}: {address}: duplicate");
                    unknown_arrived += count;
                }
                other => panic!("round {round}: {address} is {} in the end", other.word()),
            }
        }
        assert_eq!(scene.count(State::Unknown), middle, "round {round}");
        sent += scene.count(State::Handed);
        unknown += middle;
        if middle > 0 {
            let (_, listed, _) = Scene::ran(scene.digest(&["ledger", "list"]));
            assert!(listed.contains("  unknown  "), "{listed}");
        }
    }
    println!(
        "{kills} kills of {READERS} letters each: {sent} sent, 0 duplicate, 0 lost, {unknown} unknown and listed ({unknown_arrived} of \
         them had arrived); {in_the_middle} kills fell between the first and the last letter, {ended_before} runs had ended before"
    );
    // A test that always kills too early, or too late, would see nothing.
    assert!(kills < 20 || (in_the_middle > 0 && ended_before < kills as usize));
}
