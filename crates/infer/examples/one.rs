//! Profile.
#[path = "../tests/support/kinds.rs"]
mod kinds;
use wythe_infer::*;
fn main() {
    let made = kinds::make(kinds::HOUSE, 0);
    let net = made.network();
    let limits = Limits::default();
    let cases: Vec<_> = (0..20).map(|i| made.case(i)).collect();
    let mode = std::env::args().nth(1).unwrap_or_default();
    let mut x = 0.0;
    for c in &cases {
        if mode == "reuse" {
            let mut s = Solver::new(&net, &limits);
            for _ in 0..20 {
                x += s.solve(c).unwrap();
            }
        } else {
            for _ in 0..5 {
                x += solve(&net, c, &limits).unwrap().ln_evidence();
            }
        }
    }
    println!("{x}");
}
