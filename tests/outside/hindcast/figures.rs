//! Error figures against numpy.

use plungeline::hindcast::statistics::error_figures;

#[test]
fn figures_of_200_differences_are_those_of_numpy() {
    let d: Vec<f64> = (0..200)
        .map(f64::from)
        .map(|k| 2.0 * (0.7 * k).sin() + 0.01 * k - 0.8)
        .map(|d| (d * 1e6).round() / 1e6)
        .collect();
    let found = error_figures(&d).unwrap();
    // numpy 2.4.6: k = arange(200); d = round(2*sin(0.7*k) + 0.01*k - 0.8, 6); a = abs(d); sqrt(mean(d**2)), d.mean(),
    // a.mean(), quantile(a, [.5, .75, .9, .95, 1])
    let wanted = [
        1.5288179053862432,
        0.20650595,
        1.32410653,
        1.283112,
        1.90409775,
        2.3920212,
        2.6250053,
        3.076854,
    ];
    let ours = [
        found.rmse,
        found.bias,
        found.mean_absolute,
        found.absolute_50,
        found.absolute_75,
        found.absolute_90,
        found.absolute_95,
        found.absolute_max,
    ];
    for (a, b) in ours.iter().zip(wanted) {
        // Rounding of sums of 200 terms.
        assert!((a - b).abs() < 1e-12, "{a} {b}");
    }
}
