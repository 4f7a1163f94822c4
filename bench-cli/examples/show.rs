//! show
use bobweight_bench::*;
fn main() {
    let r = readings::read(std::path::Path::new(&std::env::args().nth(1).unwrap())).unwrap();
    let t = std::time::Instant::now();
    let f = fit::fit(&r, &fit::FitOptions::default()).unwrap();
    println!("{:?}", t.elapsed());
    println!("ramps {} odds {:.2} residual {:.2}", f.ramps, f.odds_of_two_ramps, f.residual_scatter);
    for (k, l) in f.knots.iter().zip(&f.levels) {
        println!("{k:.0?} {l:.1?}");
    }
    println!(
        "h {:.2?} s {:.2?} misread {:?} low {:.2?} high {:.2?} corners {:?}",
        f.up_down, f.scatter, f.misread, f.lowest, f.highest, f.wide_corners
    );
    if let fit::VacuumOutcome::Fitted(v) = &f.vacuum {
        println!(
            "{:.1?} {:.1?} {:.1?} rest {:.1?} {:.2?} {:?}",
            v.start, v.full, v.greatest, v.rest, v.scatter, v.misread
        );
    }
    for s in fit::sentences(&f) {
        println!("{s}");
    }
}
