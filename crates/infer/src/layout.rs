//! The second half of a plan: the order of elimination, and where every number goes.

use crate::blocks::Blocks;
use crate::draft::Draft;
use crate::order::{Elimination, each, eliminate, set};
use crate::plan::{Along, Bucket, Child, Kind, NONE, Plan, Role, Slot, bits, too_tangled};
use crate::{Limits, SolveError, Var};

/// Binary logarithm of a table that is not worth splitting.
const NARROW: usize = 8;

/// A draft, and the order in which its live variables would be eliminated.
pub(crate) struct Ordered {
    draft: Draft,
    by: Elimination,
    /// Entries of each bucket's message.
    messages: Vec<f64>,
    /// What a pass would cost, as [`Plan::cost`].
    pub cost: usize,
    /// Binary logarithm of the largest table, and the place of its bucket.
    widest: (usize, usize),
}

impl Ordered {
    /// Nothing if more hang together than an order can be found for. `heavy` fill-in counts states.
    pub fn new(draft: Draft, heavy: bool) -> Option<Self> {
        let weight = |s: &usize| match s {
            0 | 1 => 0,
            2 => 100,
            s => (libm::log2(*s as f64) * 100.0) as u32,
        };
        let weights: Vec<u32> = draft.states.iter().map(weight).collect();
        let heavy = heavy.then_some(draft.states.as_slice());
        let by = eliminate(&weights, heavy, draft.slots.iter().map(|s| s.axes.as_slice()))?;
        let states = |v: &u32| draft.states[*v as usize] as f64;
        let mut messages = Vec::with_capacity(by.order.len());
        let (mut tables, mut most, mut at) = (0.0, 1.0, 0);
        for (k, bucket) in by.buckets().enumerate() {
            let message = bucket[1..].iter().fold(1.0, |size, v| size * states(v));
            messages.push(message);
            let size = message * states(&bucket[0]);
            tables += size;
            if size > most {
                (most, at) = (size, k);
            }
        }
        let widest = (libm::ceil(libm::log2(most) - 1e-9) as usize, at);
        let sweeps = draft.sweeps.iter().map(|d| d.cost);
        let cost = sweeps.fold(tables as usize, usize::saturating_add);
        Some(Self {
            draft,
            by,
            messages,
            cost,
            widest,
        })
    }

    /// When each variable would be eliminated.
    pub fn order(&self) -> Vec<u32> {
        let mut along = vec![0; self.draft.roles.len()];
        for (place, v) in self.by.order.iter().enumerate() {
            if let Some(var) = self.draft.live[*v as usize] {
                along[var.index()] = place as u32;
            }
        }
        along
    }

    /// Whether no table is so large that splitting what makes it, or sweeping it, would pay.
    pub fn narrow(&self) -> bool {
        self.widest.0 <= NARROW
    }

    /// Whether no table and no sweep is over the limits.
    pub fn fits(&self, limits: &Limits) -> bool {
        self.widest.0 <= limits.width && self.draft.sweeps.iter().all(|d| d.fits(limits))
    }

    /// Says where every number goes, unless that is over the limits.
    pub fn lay_out(self, limits: &Limits) -> Result<Plan, SolveError> {
        let (width, k) = self.widest;
        if width > limits.width {
            let all = self.by.buckets().nth(k).unwrap_or(&[]).iter();
            let vars = all.filter_map(|v| self.draft.live[*v as usize]).collect();
            return Err(too_tangled(width, limits, vars));
        }
        let mut plan = self.draft.lay_out(self.by, &self.messages, limits)?;
        plan.width = width;
        Ok(plan)
    }
}

impl Draft {
    fn lay_out(mut self, e: Elimination, messages: &[f64], limits: &Limits) -> Result<Plan, SolveError> {
        let n = self.live.len();
        let mut place = vec![0u32; n];
        for (k, v) in e.order.iter().enumerate() {
            place[*v as usize] = k as u32;
        }
        let mut plan = Plan {
            roles: self.roles,
            vars: e.order.iter().map(|v| self.live[*v as usize]).collect(),
            buckets: Vec::with_capacity(n),
            children: Vec::with_capacity(n),
            slots: Vec::new(),
            single: 0,
            maps: Vec::new(),
            scopes: Vec::with_capacity(e.members.len()),
            scope_starts: Vec::new(),
            products: self.products,
            fixed: Vec::new(),
            dense: self.sweeps,
            grades: self.grades,
            unary_len: 0,
            table_len: 0,
            potential_len: 0,
            message_len: 0,
            store_len: 0,
            largest: 0,
            width: 0,
        };
        for (v, role) in plan.roles.iter_mut().enumerate() {
            match role {
                Role::Live(k) => *k = place[*k as usize],
                Role::Fixed => plan.fixed.push(Var(v as u32)),
                _ => {}
            }
        }
        let states: Vec<usize> = e.order.iter().map(|v| self.states[*v as usize]).collect();
        let sort = match n.div_ceil(64) {
            0 | 1 => sort_places::<1>,
            2 => sort_places::<2>,
            3..=4 => sort_places::<4>,
            _ => <[u32]>::sort_unstable,
        };
        // Scopes as places, each sorted: the bucket's own is the lowest.
        plan.scopes.extend(e.members.iter().map(|v| place[*v as usize]));
        plan.scope_starts = e.starts;
        let mut rest = plan.scopes.as_mut_slice();
        for (k, ends) in plan.scope_starts.windows(2).enumerate() {
            let scope;
            (scope, rest) = rest.split_at_mut((ends[1] - ends[0]) as usize);
            sort(&mut scope[1..]);
            let sep = messages[k] as usize;
            plan.buckets.push(Bucket {
                states: states[k],
                unary: plan.unary_len,
                table: plan.table_len,
                potential: 0,
                message: plan.message_len,
                size: sep * states[k],
                sep,
                parent: scope.get(1).copied().unwrap_or(NONE),
                dense: false,
                children: (0, 0),
                slots: (0, 0),
            });
            plan.unary_len += states[k];
            plan.table_len += sep * states[k];
            plan.largest = plan.largest.max(sep * states[k]);
            plan.message_len += sep;
        }
        if plan.table_len > limits.entries() {
            let widest = (0..n).max_by_key(|k| plan.buckets[*k].size).unwrap_or(0);
            let vars = plan.vars[widest].into_iter().collect();
            return Err(too_tangled(limits.width, limits, vars));
        }
        let mut by_place = vec![Along::default(); n];
        let mut found = Vec::new();
        for slot in self.slots.iter_mut().chain(&mut self.singles) {
            if slot.axes.len() > 1 {
                found.clear();
                for along in &slot.axes {
                    let k = place[along.bucket as usize];
                    found.push(k);
                    by_place[k as usize] = Along { bucket: k, ..*along };
                }
                sort(&mut found);
                let sorted = found.iter().map(|k| by_place[*k as usize]);
                slot.axes
                    .iter_mut()
                    .zip(sorted)
                    .for_each(|(along, sorted)| *along = sorted);
                if slot.is_whole() {
                    let mut stride = 1;
                    for along in slot.axes.iter_mut().rev() {
                        along.stride = stride;
                        stride *= states[along.bucket as usize] as u32;
                    }
                }
            } else if let Some(along) = slot.axes.first_mut() {
                along.bucket = place[along.bucket as usize];
                along.stride = along.stride.max(1);
            }
            slot.bucket = slot.axes.first().map_or(NONE, |along| along.bucket);
            if !matches!(slot.kind, Kind::Table | Kind::Constraint(_)) {
                slot.store = plan.store_len;
                plan.store_len += slot.size;
            }
        }
        // Entries of all maps: one for each message and table, as large as the bucket it goes to.
        let mut room = 0usize;
        for b in plan.buckets.iter().filter(|b| b.parent != NONE) {
            room = room.saturating_add(plan.buckets[b.parent as usize].size);
        }
        for slot in &self.slots {
            room = room.saturating_add(plan.buckets[slot.bucket as usize].size);
        }
        if room > 4 * limits.entries() {
            let vars = plan.vars.iter().flatten().copied().collect();
            return Err(too_tangled(limits.width, limits, vars));
        }
        plan.sort_slots(&mut self.slots, self.singles);
        plan.wire(&states);
        plan.place_sweeps(limits)?;
        Ok(plan)
    }
}

impl Plan {
    /// Tells the sweeps where their causes' buckets are, unless they are over the limits.
    fn place_sweeps(&mut self, limits: &Limits) -> Result<(), SolveError> {
        for dense in &mut self.dense {
            if !dense.fits(limits) {
                let width = bits(dense.findings.iter().map(|f| f.grades));
                let vars = dense.findings.iter().map(|f| Var(f.var)).collect();
                return Err(too_tangled(width, limits, vars));
            }
            for step in &mut dense.steps {
                if let Role::Live(k) = self.roles[step.var as usize] {
                    let bucket = &mut self.buckets[k as usize];
                    bucket.dense = true;
                    (step.bucket, step.unary) = (k, bucket.unary);
                }
            }
        }
        Ok(())
    }

    /// Puts slots over several variables in the order of their buckets, those of one or none after them.
    fn sort_slots(&mut self, several: &mut [Slot], singles: Vec<Slot>) {
        let mut next = vec![0u32; self.buckets.len() + 1];
        several.iter().for_each(|s| next[s.bucket as usize + 1] += 1);
        for (k, b) in self.buckets.iter_mut().enumerate() {
            next[k + 1] += next[k];
            b.slots = (next[k], next[k + 1]);
        }
        let mut order = vec![0u32; several.len()];
        for (i, slot) in several.iter().enumerate() {
            let at = &mut next[slot.bucket as usize];
            order[*at as usize] = i as u32;
            *at += 1;
        }
        self.single = several.len();
        self.slots = Vec::with_capacity(several.len() + singles.len());
        let sorted = order.iter().map(|i| std::mem::take(&mut several[*i as usize]));
        self.slots.extend(sorted);
        self.slots.extend(singles);
    }

    /// Sorts children by bucket and draws the maps.
    fn wire(&mut self, states: &[usize]) {
        let n = self.buckets.len();
        let mut next = vec![0u32; n + 1];
        for b in self.buckets.iter().filter(|b| b.parent != NONE) {
            next[b.parent as usize + 1] += 1;
        }
        for (k, b) in self.buckets.iter_mut().enumerate() {
            next[k + 1] += next[k];
            b.children = (next[k], next[k + 1]);
        }
        self.children.resize(next[n] as usize, Child::default());
        for (c, b) in self.buckets.iter().enumerate().filter(|(_, b)| b.parent != NONE) {
            let at = &mut next[b.parent as usize];
            self.children[*at as usize].bucket = c as u32;
            *at += 1;
        }
        let maps = &mut self.maps;
        maps.reserve(self.table_len);
        let (scopes, starts) = (&self.scopes, &self.scope_starts);
        let scope_of = |k: usize| &scopes[starts[k] as usize..starts[k + 1] as usize];
        for (k, b) in self.buckets.iter_mut().enumerate() {
            let scope = scope_of(k);
            let slots = &mut self.slots[b.slots.0 as usize..b.slots.1 as usize];
            if !slots.is_empty() {
                b.potential = self.potential_len;
                self.potential_len += b.size;
            }
            for slot in slots {
                let mut own = slot.axes.iter().rev().peekable();
                slot.blocks = Blocks::draw(
                    maps,
                    b.size,
                    scope.iter().rev().map(|p| {
                        let stride = own.next_if(|along| along.bucket == *p).map_or(0, |along| along.stride);
                        (states[*p as usize], stride)
                    }),
                );
            }
            for child in &mut self.children[b.children.0 as usize..b.children.1 as usize] {
                let mut own = scope_of(child.bucket as usize)[1..].iter().rev().peekable();
                let mut size = 1;
                child.blocks = Blocks::draw(
                    maps,
                    b.size,
                    scope.iter().rev().map(|p| {
                        let states = states[*p as usize];
                        let stride = own.next_if(|q| *q == p).map_or(0, |_| size);
                        size *= if stride > 0 { states as u32 } else { 1 };
                        (states, stride)
                    }),
                );
            }
        }
    }
}

/// Sorts different places, all below 64 `W`.
fn sort_places<const W: usize>(places: &mut [u32]) {
    let mut all = [0u64; W];
    places.iter().for_each(|p| set(&mut all, *p));
    let mut places = places.iter_mut();
    each(&all, |p| {
        if let Some(place) = places.next() {
            *place = p;
        }
    });
}
