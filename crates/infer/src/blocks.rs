//! How the entries of a bucket meet those of a smaller table: block by block.
//!
//! Both are laid out with the variable that is eliminated last fastest. So either the fastest variables are in both, and
//! as many entries in a row meet one by one; or they are in the bucket only, and as many meet the same entry.

/// A slice in pieces of one length, which is not 0; what is left at the end is not shown. As `chunks_exact`, but with no
/// division before the first.
#[inline]
pub(crate) fn pieces<T>(mut rest: &[T], len: usize) -> impl Iterator<Item = &[T]> {
    std::iter::from_fn(move || rest.split_off(..len))
}

/// [`pieces`] that can be written to.
#[inline]
pub(crate) fn pieces_mut<T>(mut rest: &mut [T], len: usize) -> impl Iterator<Item = &mut [T]> {
    std::iter::from_fn(move || rest.split_off_mut(..len))
}

/// A bucket's entries in blocks.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Blocks {
    /// Where the list starts that says, for each block, which entry it meets (the first one).
    pub start: usize,
    /// Entries of a block.
    pub len: usize,
    /// All entries of a block meet the same one.
    pub level: bool,
}

impl Blocks {
    /// Draws the map from a table of `size` entries to one with these (states, stride) axes, fastest first; a stride of 0 is
    /// not in it.
    pub fn draw(maps: &mut Vec<u32>, size: usize, mut axes: impl Iterator<Item = (usize, u32)>) -> Self {
        let mut next = axes.next();
        let level = matches!(next, Some((_, 0)));
        let mut len = 1;
        while let Some((states, stride)) = next
            && stride == if level { 0 } else { len as u32 }
        {
            len *= states;
            next = axes.next();
        }
        let start = maps.len();
        maps.resize(start + size / len, 0);
        let map = &mut maps[start..];
        let mut drawn = 1;
        while let Some((states, stride)) = next {
            let (done, rest) = map.split_at_mut(drawn);
            let mut by = 0;
            for block in pieces_mut(rest, drawn).take(states - 1) {
                by += stride;
                block.iter_mut().zip(&*done).for_each(|(to, from)| *to = from + by);
            }
            drawn *= states;
            next = axes.next();
        }
        Self { start, len, level }
    }

    /// The entry that a bucket's entry meets.
    pub fn at(&self, maps: &[u32], i: usize) -> usize {
        let first = maps[self.start + i / self.len] as usize;
        if self.level { first } else { first + i % self.len }
    }

    /// Multiplies a bucket's table by a message, which may be the same in every lane.
    pub fn multiply<const M: usize, const L: usize>(&self, maps: &[u32], table: &mut [[f64; L]], message: &[[f64; M]]) {
        let map = &maps[self.start..];
        match (self.len, self.level) {
            (1, _) => runs::<1, M, L>(map, table, message),
            (2, false) => runs::<2, M, L>(map, table, message),
            (4, false) => runs::<4, M, L>(map, table, message),
            (2, true) => levels::<2, M, L>(map, table, message),
            (4, true) => levels::<4, M, L>(map, table, message),
            (len, false) => {
                for (block, at) in pieces_mut(table, len).zip(map) {
                    let message = &message[*at as usize..][..len];
                    block.iter_mut().zip(message).for_each(|(t, m)| times(t, m));
                }
            }
            (len, true) => {
                for (block, at) in pieces_mut(table, len).zip(map) {
                    let m = message[*at as usize];
                    block.iter_mut().for_each(|t| times(t, &m));
                }
            }
        }
    }

    /// In `out`: a bucket's table, which may be the same in every lane, multiplied by a message.
    pub fn product<const M: usize, const L: usize>(
        &self,
        maps: &[u32],
        out: &mut [[f64; L]],
        table: &[[f64; M]],
        message: &[[f64; L]],
    ) {
        let product = |x: &[f64; M], y: &[f64; L]| std::array::from_fn(|l| x[if M == 1 { 0 } else { l }] * y[l]);
        let blocks = pieces_mut(out, self.len).zip(pieces(table, self.len));
        for ((out, block), at) in blocks.zip(&maps[self.start..]) {
            let at = *at as usize;
            if self.level {
                let m = &message[at];
                out.iter_mut().zip(block).for_each(|(o, t)| *o = product(t, m));
            } else {
                let own = block.iter().zip(&message[at..][..self.len]);
                out.iter_mut().zip(own).for_each(|(o, (t, m))| *o = product(t, m));
            }
        }
    }

    /// Copies the entries of a smaller table to where a bucket's meet them.
    pub fn copy(&self, maps: &[u32], out: &mut [f64], data: &[f64]) {
        let map = &maps[self.start..];
        match (self.len, self.level) {
            (1, _) => {
                for (x, at) in out.iter_mut().zip(map) {
                    *x = data[*at as usize];
                }
            }
            (2, false) => copy_runs::<2>(map, out, data),
            (4, false) => copy_runs::<4>(map, out, data),
            (len, false) => {
                for (block, at) in pieces_mut(out, len).zip(map) {
                    block.copy_from_slice(&data[*at as usize..][..len]);
                }
            }
            (len, true) => {
                for (block, at) in pieces_mut(out, len).zip(map) {
                    block.fill(data[*at as usize]);
                }
            }
        }
    }

    /// Sums a bucket's table into the entries of a message.
    pub fn gather<const L: usize>(&self, maps: &[u32], out: &mut [[f64; L]], table: &[[f64; L]]) {
        if !self.level && self.len == table.len() {
            out.copy_from_slice(table);
            return;
        }
        let map = &maps[self.start..];
        out.fill([0.0; L]);
        match (self.len, self.level) {
            (1, _) => add_runs::<1, L>(map, out, table),
            (2, false) => add_runs::<2, L>(map, out, table),
            (4, false) => add_runs::<4, L>(map, out, table),
            (len, false) => {
                for (block, at) in pieces(table, len).zip(map) {
                    let out = &mut out[*at as usize..][..len];
                    out.iter_mut().zip(block).for_each(|(o, t)| plus(o, t));
                }
            }
            (2, true) => {
                for (block, at) in table.as_chunks::<2>().0.iter().zip(map) {
                    let mut sum = block[0];
                    plus(&mut sum, &block[1]);
                    plus(&mut out[*at as usize], &sum);
                }
            }
            (len, true) => {
                for (block, at) in pieces(table, len).zip(map) {
                    plus(&mut out[*at as usize], &sum(block));
                }
            }
        }
    }
}

fn copy_runs<const N: usize>(map: &[u32], out: &mut [f64], data: &[f64]) {
    for (block, at) in out.as_chunks_mut::<N>().0.iter_mut().zip(map) {
        if let Some(run) = data[*at as usize..].first_chunk() {
            *block = *run;
        }
    }
}

fn runs<const N: usize, const M: usize, const L: usize>(map: &[u32], table: &mut [[f64; L]], message: &[[f64; M]]) {
    for (block, at) in table.as_chunks_mut::<N>().0.iter_mut().zip(map) {
        let message = &message[*at as usize..][..N];
        block.iter_mut().zip(message).for_each(|(t, m)| times(t, m));
    }
}

fn levels<const N: usize, const M: usize, const L: usize>(map: &[u32], table: &mut [[f64; L]], message: &[[f64; M]]) {
    for (block, at) in table.as_chunks_mut::<N>().0.iter_mut().zip(map) {
        let m = message[*at as usize];
        block.iter_mut().for_each(|t| times(t, &m));
    }
}

fn add_runs<const N: usize, const L: usize>(map: &[u32], out: &mut [[f64; L]], table: &[[f64; L]]) {
    for (block, at) in table.as_chunks::<N>().0.iter().zip(map) {
        let out = &mut out[*at as usize..][..N];
        out.iter_mut().zip(block).for_each(|(o, t)| plus(o, t));
    }
}

/// Lane by lane, by a number each or by one for all.
pub(crate) fn times<const M: usize, const L: usize>(a: &mut [f64; L], b: &[f64; M]) {
    for l in 0..L {
        a[l] *= b[if M == 1 { 0 } else { l }];
    }
}

pub(crate) fn plus<const L: usize>(a: &mut [f64; L], b: &[f64; L]) {
    for l in 0..L {
        a[l] += b[l];
    }
}

/// Up to this many entries a sum is taken in four strands, above in halves, so that the error grows with the logarithm of
/// the length. The order is the same for any number of lanes.
const STRANDS: usize = 128;

/// The sum of a table's entries.
pub(crate) fn sum<const L: usize>(xs: &[[f64; L]]) -> [f64; L] {
    if xs.len() > STRANDS {
        let (a, b) = xs.split_at(xs.len() / 2);
        return both(sum(a), &sum(b));
    }
    let mut strands = [[0.0; L]; 4];
    let (fours, rest) = xs.as_chunks::<4>();
    for four in fours {
        strands.iter_mut().zip(four).for_each(|(sum, x)| plus(sum, x));
    }
    strands.iter_mut().zip(rest).for_each(|(sum, x)| plus(sum, x));
    together(strands)
}

/// The sum of the products of two tables' entries, of which the first may be the same in every lane.
pub(crate) fn dot<const M: usize, const L: usize>(xs: &[[f64; M]], ys: &[[f64; L]]) -> [f64; L] {
    if xs.len() > STRANDS {
        let half = xs.len() / 2;
        return both(dot(&xs[..half], &ys[..half]), &dot(&xs[half..], &ys[half..]));
    }
    let product = |x: &[f64; M], y: &[f64; L]| std::array::from_fn(|l| x[if M == 1 { 0 } else { l }] * y[l]);
    let mut strands = [[0.0; L]; 4];
    let (fours, rest) = xs.as_chunks::<4>();
    let (others, last) = ys.as_chunks::<4>();
    for (four, other) in fours.iter().zip(others) {
        for (sum, (x, y)) in strands.iter_mut().zip(four.iter().zip(other)) {
            plus(sum, &product(x, y));
        }
    }
    for (sum, (x, y)) in strands.iter_mut().zip(rest.iter().zip(last)) {
        plus(sum, &product(x, y));
    }
    together(strands)
}

fn together<const L: usize>([a, b, c, d]: [[f64; L]; 4]) -> [f64; L] {
    both(both(a, &b), &both(c, &d))
}

fn both<const L: usize>(mut a: [f64; L], b: &[f64; L]) -> [f64; L] {
    plus(&mut a, b);
    a
}

/// The largest entry in each lane.
pub(crate) fn most<const L: usize>(xs: &[[f64; L]]) -> [f64; L] {
    let larger = |a: &mut [f64; L], b: &[f64; L]| {
        for l in 0..L {
            a[l] = if b[l] > a[l] { b[l] } else { a[l] };
        }
    };
    let mut strands = [[0.0; L]; 4];
    let (fours, rest) = xs.as_chunks::<4>();
    for four in fours {
        strands.iter_mut().zip(four).for_each(|(most, x)| larger(most, x));
    }
    strands.iter_mut().zip(rest).for_each(|(most, x)| larger(most, x));
    let [mut a, b, c, d] = strands;
    [b, c, d].iter().for_each(|x| larger(&mut a, x));
    a
}
