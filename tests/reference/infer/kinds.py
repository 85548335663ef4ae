"""Seeded networks and cases of four kinds, the same in every language: all draws are whole numbers
(SplitMix64), all probabilities whole ten-thousandths. The Rust twin is support/kinds.rs."""

MASK = (1 << 64) - 1
# causes, places, responses, clues, fewest and most parents, observed, positive, soft
KINDS = {
    "wall": (8, 1, 0, 15, 2, 5, 10, 4, 1),
    "house": (40, 10, 20, 120, 2, 6, 40, 12, 4),
    "plain-house": (40, 10, 0, 120, 2, 6, 40, 12, 4),
    "big": (80, 20, 0, 300, 2, 6, 60, 18, 6),
    "small-dense": (14, 0, 0, 40, 5, 10, 20, 8, 2),
    "dense": (40, 0, 0, 100, 6, 15, 40, 12, 0),
    "dense-soft": (40, 0, 0, 100, 6, 15, 40, 12, 4),
}


class Draw:
    def __init__(self, name, seed):
        h = seed & MASK
        for b in name.encode():
            h = (h * 31 + b) & MASK
        self.state = h
        self.next()

    def next(self):
        self.state = (self.state + 0x9E3779B97F4A7C15) & MASK
        z = self.state
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & MASK
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & MASK
        return z ^ (z >> 31)

    def below(self, n):
        return self.next() % n

    def span(self, a, b):
        return a + self.below(b - a + 1)

    def shuffle(self, xs):
        for i in range(len(xs) - 1, 0, -1):
            j = self.below(i + 1)
            xs[i], xs[j] = xs[j], xs[i]


def row(draw, states, strength):
    weights = [draw.span(1, 10) for _ in range(1, states)]
    total = sum(weights)
    out = [10000 - strength] + [strength * w // total for w in weights]
    out[-1] += 10000 - sum(out)
    return out


def family(draw, parents, states):
    leak = row(draw, states, draw.span(50, 600))
    rows = [row(draw, states, draw.span(1500, 9000)) for _ in parents]
    return dict(parents=parents, leak=leak, rows=rows)


def pick(draw, causes, places, place, n):
    out = []
    for _ in range(200):
        if len(out) == n:
            break
        if places < 2:
            i = draw.below(causes)
        else:
            luck = draw.below(100)
            at = place
            if luck < 10:
                at = (place + 1) % places
            elif luck < 15:
                at = (place + places - 1) % places
            i = draw.below(2) if luck >= 97 else at + places * draw.below(causes // places)
        if i not in out:
            out.append(i)
    return sorted(out)


def make(kind, seed):
    causes, places, responses, clues, low, high, *_ = KINDS[kind]
    draw = Draw(kind, seed)
    priors = []
    for _ in range(causes):
        a = draw.below(30)
        priors.append(20 + a * draw.below(30))
    families = []
    for j in range(responses):
        n = draw.span(2, 4)
        families.append(family(draw, pick(draw, causes, places, j % max(places, 1), n), 2))
    for j in range(clues):
        place = j % max(places, 1)
        n = draw.span(low, high)
        parents = pick(draw, causes, places, place, n)
        if responses and draw.below(10) < 4:
            parents = parents[: n - 1]
            parents.append(causes + place + places * draw.below(responses // places))
        families.append(family(draw, parents, [2, 2, 3, 4][draw.below(4)]))
    return dict(kind=kind, seed=seed, priors=priors, families=families, responses=responses, causes=causes)


def hit(draw, row):
    u = draw.below(10000)
    for g, p in enumerate(row):
        if u < p:
            return g
        u -= p
    return len(row) - 1


def case(net, number):
    """{clue number: likelihood over its states}; hard findings hold one 1.0 and zeros."""
    causes, _, responses, clues, _, _, observed, positive_wanted, soft = KINDS[net["kind"]]
    draw = Draw(net["kind"], net["seed"] * 1000003 + number + 17)
    while True:
        value = [int(draw.below(10000) < p) for p in net["priors"]]
        for _ in range(2):
            value[draw.below(causes)] = 1
        for f in net["families"]:
            most = hit(draw, f["leak"])
            for parent, r in zip(f["parents"], f["rows"]):
                if value[parent] > 0:
                    most = max(most, hit(draw, r))
            value.append(most)
        state = value[causes + responses:]
        positive = [j for j in range(clues) if state[j] > 0]
        none = [j for j in range(clues) if state[j] == 0]
        if len(positive) < positive_wanted or len(none) < observed - positive_wanted:
            continue
        draw.shuffle(positive)
        draw.shuffle(none)
        seen = positive[:positive_wanted] + none[: observed - positive_wanted]
        order = list(range(len(seen)))
        draw.shuffle(order)
        evidence = {}
        for rank, at in enumerate(order):
            j = seen[at]
            states = len(net["families"][responses + j]["leak"])
            if rank < soft:
                like = [draw.span(20, 400) / 1000.0 for _ in range(states)]
                like[state[j]] = 1.0
            else:
                like = [1.0 if g == state[j] else 0.0 for g in range(states)]
            evidence[j] = like
        return evidence


def cpt(family):
    """P(child | parents), configurations with the first parent fastest, then the child's states."""
    states = len(family["leak"])
    cum = lambda r: [sum(r[: g + 1]) / 10000.0 for g in range(states)]
    leak, rows = cum(family["leak"]), [cum(r) for r in family["rows"]]
    table = []
    for m in range(1 << len(rows)):
        upto = list(leak)
        for i, r in enumerate(rows):
            if m >> i & 1:
                upto = [a * b for a, b in zip(upto, r)]
        table.append([upto[0]] + [upto[g] - upto[g - 1] for g in range(1, states)])
    return table
