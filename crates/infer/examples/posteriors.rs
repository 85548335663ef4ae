//! Reads a network of tables and cases of hard evidence from standard input, and prints every
//! posterior: for comparisons with other programs.
//!
//! A line `var STATES PARENT… : NUMBER…` adds a variable (its rows with the last parent fastest);
//! a line `case VAR=STATE…` prints one line: microseconds, ln P(evidence), then all posteriors in
//! the order of the variables.

use std::error::Error;
use std::io::{self, BufRead};
use std::time::Instant;

use wythe_infer::{Evidence, Finding, Limits, Network, Var, solve};

fn main() -> Result<(), Box<dyn Error>> {
    let mut net = Network::new();
    for line in io::stdin().lock().lines() {
        let line = line?;
        let mut words = line.split_whitespace();
        match words.next() {
            Some("var") => {
                let numbers = words.clone().skip_while(|w| *w != ":").skip(1);
                let rows = numbers.map(str::parse).collect::<Result<Vec<f64>, _>>()?;
                let head = words.take_while(|w| *w != ":").map(str::parse);
                let head = head.collect::<Result<Vec<usize>, _>>()?;
                let (states, parents) = head.split_first().ok_or("no states")?;
                let parents: Vec<Var> = parents.iter().map(|p| Var::from_index(*p)).collect();
                net.table(*states, &parents, rows)?;
            }
            Some("case") => {
                let mut evidence = Evidence::new();
                for word in words {
                    let (var, state) = word.split_once('=').ok_or("VAR=STATE")?;
                    evidence.insert(Var::from_index(var.parse()?), Finding::State(state.parse()?));
                }
                let start = Instant::now();
                match solve(&net, &evidence, &Limits { width: 24 }) {
                    Err(e) => println!("none {e}"),
                    Ok(solved) => {
                        let all = net.vars().flat_map(|v| solved.posterior(v).to_vec());
                        let all: Vec<String> = all.map(|p| format!("{p:e}")).collect();
                        let time = start.elapsed().as_micros();
                        println!("{time} {:e} {}", solved.ln_evidence(), all.join(" "));
                    }
                }
            }
            _ => {}
        }
    }
    Ok(())
}
