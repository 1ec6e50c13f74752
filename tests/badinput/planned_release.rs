//! Plans of the release that cannot be.

use super::lake_file::{faults, harrow_gap};

#[test]
fn plans_that_overlap_or_run_backwards_are_faults_at_their_days() {
    let plan = |from: &str, until: &str| {
        format!(
            "[[planned_release]]\nfrom = {from}\nuntil = {until}\nflow_cfs = 800.0\nsource = \"a notice\"\n\n"
        )
    };
    let with = |plans: &str| {
        let list = faults(&harrow_gap().replace(
            "# Presentations, in the order",
            &format!("{plans}# Presentations, in the order"),
        ));
        list.iter()
            .map(|f| (f.found.clone(), f.wanted.clone()))
            .collect::<Vec<_>>()
    };
    assert_eq!(
        with(&(plan("2025-10-15", "2025-11-30") + &plan("2025-12-01", "2025-12-31"))),
        []
    );
    let overlapping = with(&(plan("2025-11-30", "2025-12-31") + &plan("2025-10-15", "2025-11-30")));
    let [(found, wanted)] = &overlapping[..] else {
        panic!("{overlapping:?}")
    };
    assert!(
        found.contains("2025-11-30") && wanted.contains("do not overlap"),
        "{found} {wanted}"
    );
    let backwards = with(&plan("2025-11-30", "2025-10-15"));
    assert!(backwards[0].1.contains("not before the first"), "{backwards:?}");
}
