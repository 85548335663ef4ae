//! Prints chances.
#![allow(missing_docs, clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]
use wythe_engine::*;
fn main() {
    let texts = wythe_rules::structural();
    let files: Vec<_> = texts.iter().map(|(path, text)| wythe_pack::PackFile { path, text }).collect();
    let t = std::time::Instant::now();
    let pack = wythe_pack::Pack::read(&files).unwrap_or_else(|e| panic!("{e}"));
    println!("pack {:?}", t.elapsed());
    for path in std::env::args().skip(1) {
        let text = std::fs::read_to_string(&path).unwrap();
        let case = wythe_case::Case::read(&path, &text).unwrap_or_else(|e| panic!("{e}"));
        let passes: Vec<String> = case.passes.iter().map(|p| p.id.clone()).collect();
        for pass in passes {
            let case = case.as_of(&pass).unwrap();
            let t = std::time::Instant::now();
            peek(&pack, &case); let o = match weigh(&pack, &case) { Ok(o) => o, Err(e) => { println!("{e}"); continue } };
            println!("== {path} {pass} {:?} action {:?} misfit {:.1} ", t.elapsed(), o.action, o.misfit.decibans);
            let mut all: Vec<_> = o.conclusions.iter().collect();
            all.sort_by(|a, b| b.chance.total_cmp(&a.chance));
            for c in all {
                if c.support == wythe_pack::Support::NotMoved && c.action == wythe_pack::Action::Record { continue }
                if c.support == wythe_pack::Support::SpokenAgainst && c.prior < 0.05 { continue }
                let n = match c.about { About::Mechanism { mechanism, at } => format!("{} @{}", pack[mechanism].id, case.places[at].id), About::Family(f) => format!("FAMILY {}", pack[f].id) };
                println!("{n:45} {:.3} -> {:.3} [{:.2} {:.2}] {:+.1} {:?} {:?} {:?} cov {:.2} g{} z{:?}", c.prior, c.chance, c.range.0, c.range.1, c.weight, c.support, c.action, c.decided, c.coverage, c.corroboration.groups, c.corroboration.zones);
            }
            for n in &o.notices { println!("NOTICE {:?} {:?}", n.kind, n.action); }
        }
    }
}
