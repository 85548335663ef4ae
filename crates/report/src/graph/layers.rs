//! A drawing in columns: which box stands above which, so that few lines cross, and how far down each stands.

/// A node: its column, and how high its box is. A line that passes over a column has a node there without height.
#[derive(Clone, Debug)]
pub(super) struct Node {
    pub layer: usize,
    pub height: f64,
}

/// Times that the columns are gone through, each time once forward and once back.
const SWEEPS: usize = 12;
/// Between boxes of a column.
const GAP: f64 = 16.0;

/// The upper edge of each node. `lines` lead from a column to the next.
pub(super) fn tops(nodes: &[Node], lines: &[(usize, usize)]) -> Vec<f64> {
    let layers = order(nodes, lines);
    let mut tops = vec![0.0; nodes.len()];
    // The fullest column is stacked; the others follow it outward, each box beside what it is joined to.
    let high = |layer: &Vec<usize>| -> f64 {
        layer
            .iter()
            .filter_map(|at| nodes.get(*at))
            .map(|node| node.height + GAP)
            .sum()
    };
    let Some(fullest) = (0..layers.len()).max_by(|a, b| {
        let of = |at: &usize| layers.get(*at).map_or(0.0, high);
        of(a).total_cmp(&of(b)).then(b.cmp(a))
    }) else {
        return tops;
    };
    let before = (0..fullest).rev().map(|layer| (layer, true));
    let after = (fullest + 1..layers.len()).map(|layer| (layer, false));
    for (layer, looks_ahead) in std::iter::once((fullest, true)).chain(before).chain(after) {
        let Some(column) = layers.get(layer) else { continue };
        let wanted: Vec<f64> = column
            .iter()
            .map(|at| {
                let beside: Vec<f64> = lines
                    .iter()
                    .filter_map(|(from, to)| match looks_ahead {
                        true if from == at => Some(*to),
                        false if to == at => Some(*from),
                        _ => None,
                    })
                    .filter_map(|other| Some(tops.get(other)? + nodes.get(other)?.height / 2.0))
                    .collect();
                let half = nodes.get(*at).map_or(0.0, |node| node.height / 2.0);
                if layer == fullest || beside.is_empty() {
                    0.0
                } else {
                    beside.iter().sum::<f64>() / beside.len() as f64 - half
                }
            })
            .collect();
        let heights: Vec<f64> = column
            .iter()
            .map(|at| nodes.get(*at).map_or(0.0, |node| node.height))
            .collect();
        for (at, top) in column.iter().zip(stacked(&wanted, &heights)) {
            if let Some(slot) = tops.get_mut(*at) {
                *slot = top;
            }
        }
    }
    let least = tops.iter().copied().fold(f64::INFINITY, f64::min);
    tops.iter().map(|top| top - least.min(0.0)).collect()
}

/// Upper edges in the given order, none over another, each as near to what it wants as the others let it.
fn stacked(wanted: &[f64], heights: &[f64]) -> Vec<f64> {
    // Runs of boxes that touch move as one, to the mean of what their boxes want (pool adjacent violators).
    let mut runs: Vec<(f64, usize, f64)> = Vec::new();
    for (want, height) in wanted.iter().zip(heights) {
        let mut run = (*want, 1, height + GAP);
        while let Some(last) = runs.last().copied() {
            if last.0 + last.2 <= run.0 {
                break;
            }
            runs.pop();
            let count = (last.1 + run.1) as f64;
            let top = (last.0 * last.1 as f64 + (run.0 - last.2) * run.1 as f64) / count;
            run = (top, last.1 + run.1, last.2 + run.2);
        }
        runs.push(run);
    }
    let mut tops = Vec::with_capacity(wanted.len());
    let mut heights = heights.iter();
    for (top, count, _) in runs {
        let mut y = top;
        for height in heights.by_ref().take(count) {
            tops.push(y);
            y += height + GAP;
        }
    }
    tops
}

/// The nodes of each column from top to bottom.
fn order(nodes: &[Node], lines: &[(usize, usize)]) -> Vec<Vec<usize>> {
    let count = nodes.iter().map(|node| node.layer + 1).max().unwrap_or(0);
    let mut layers: Vec<Vec<usize>> = vec![Vec::new(); count];
    for (at, node) in nodes.iter().enumerate() {
        if let Some(layer) = layers.get_mut(node.layer) {
            layer.push(at);
        }
    }
    let mut best = (crossings(nodes.len(), &layers, lines), layers.clone());
    for _ in 0..SWEEPS {
        for forward in [true, false] {
            let turns: Vec<usize> = if forward {
                (0..count).collect()
            } else {
                (0..count).rev().collect()
            };
            for turn in turns {
                let places = places(nodes.len(), &layers);
                let Some(layer) = layers.get_mut(turn) else { continue };
                let key = |at: &usize| {
                    let beside: Vec<f64> = lines
                        .iter()
                        .filter_map(|(from, to)| match forward {
                            true if to == at => Some(*from),
                            false if from == at => Some(*to),
                            _ => None,
                        })
                        .filter_map(|other| places.get(other))
                        .map(|place| *place as f64)
                        .collect();
                    if beside.is_empty() {
                        places.get(*at).map_or(0.0, |place| *place as f64)
                    } else {
                        beside.iter().sum::<f64>() / beside.len() as f64
                    }
                };
                layer.sort_by(|a, b| key(a).total_cmp(&key(b)));
            }
            let now = crossings(nodes.len(), &layers, lines);
            if now < best.0 {
                best = (now, layers.clone());
            }
        }
    }
    best.1
}

/// The place of each node in its column.
fn places(count: usize, layers: &[Vec<usize>]) -> Vec<usize> {
    let mut places = vec![0; count];
    for layer in layers {
        for (place, at) in layer.iter().enumerate() {
            if let Some(slot) = places.get_mut(*at) {
                *slot = place;
            }
        }
    }
    places
}

/// How many pairs of lines cross.
fn crossings(count: usize, layers: &[Vec<usize>], lines: &[(usize, usize)]) -> usize {
    let places = places(count, layers);
    let mut column = vec![0; count];
    for (number, layer) in layers.iter().enumerate() {
        for at in layer {
            if let Some(slot) = column.get_mut(*at) {
                *slot = number;
            }
        }
    }
    let ends: Vec<(usize, usize, usize)> = lines
        .iter()
        .filter_map(|(from, to)| Some((*column.get(*from)?, *places.get(*from)?, *places.get(*to)?)))
        .collect();
    let mut found = 0;
    for (at, one) in ends.iter().enumerate() {
        for other in ends.iter().skip(at + 1) {
            let crosses = one.1 < other.1 && one.2 > other.2 || one.1 > other.1 && one.2 < other.2;
            found += usize::from(one.0 == other.0 && crosses);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn node(layer: usize) -> Node {
        Node { layer, height: 10.0 }
    }

    #[test]
    fn a_tree_is_drawn_without_a_crossing() {
        // Two branches whose leaves come in turn.
        let nodes = [node(0), node(1), node(1), node(2), node(2), node(2), node(2)];
        let lines = [(0, 1), (0, 2), (1, 3), (2, 4), (1, 5), (2, 6)];
        assert_eq!(crossings(nodes.len(), &order(&nodes, &lines), &lines), 0);
    }

    #[test]
    fn one_crossing_that_can_not_be_helped_is_one() {
        // Two causes, two effects, all joined: K(2,2) has one crossing in two columns however it is drawn.
        let nodes = [node(0), node(0), node(1), node(1)];
        let lines = [(0, 2), (0, 3), (1, 2), (1, 3)];
        assert_eq!(crossings(nodes.len(), &order(&nodes, &lines), &lines), 1);
    }

    #[test]
    fn boxes_of_a_column_keep_apart() {
        let nodes: Vec<Node> = (0..9).map(|at| node(usize::from(at > 1))).collect();
        let lines: Vec<(usize, usize)> = (2..9).map(|at| (at % 2, at)).collect();
        let tops = tops(&nodes, &lines);
        for (a, one) in nodes.iter().enumerate() {
            for (b, other) in nodes.iter().enumerate().skip(a + 1) {
                let apart = (tops[a] - tops[b]).abs() >= one.height + GAP - 1e-9;
                assert!(one.layer != other.layer || apart, "{a} {b} {tops:?}");
            }
        }
    }
}
