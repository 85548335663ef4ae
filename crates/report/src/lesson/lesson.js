"use strict";
(() => {
  const lessons = JSON.parse(document.getElementById("lessons").textContent);
  const $ = id => document.getElementById(id);
  const make = (tag, text, attributes) => {
    const node = document.createElement(tag);
    if (text !== undefined && text !== null) node.textContent = text;
    for (const [name, value] of Object.entries(attributes || {})) node.setAttribute(name, value);
    return node;
  };
  // Guesses are kept in this browser only, and only where it lets a page keep anything.
  const KEPT = "wythe-lesson-guesses";
  let guesses = [];
  try { guesses = JSON.parse(localStorage.getItem(KEPT)) || []; } catch (_) { guesses = []; }
  if (!Array.isArray(guesses)) guesses = [];
  const keep = () => { try { localStorage.setItem(KEPT, JSON.stringify(guesses)); } catch (_) { /* not kept */ } };

  let lesson = lessons[0];
  let at = 0;
  let shown = 0;      // the last step that was shown: guessing stops there
  let off = [];       // readings taken away in "Suppose"

  const state = step => step === 0 ? lesson.start : lesson.steps[step - 1].state;
  const short = p => p === 0 ? "0" : p < 0.0005 ? "under 0.001" : p > 0.9995 ? "over 0.999"
    : p < 0.01 || p > 0.99 ? p.toFixed(3) : p.toFixed(2);
  const decibans = p => 10 * Math.log10(p / (1 - p));
  const times = weight => {
    const factor = Math.pow(10, Math.abs(weight) / 10);
    const said = factor < 1.5 ? "a little" : factor < 10 ? "about " + Number(factor.toFixed(factor < 3 ? 1 : 0)) + " times"
      : factor < 1000 ? "about " + Number(factor.toPrecision(2)) + " times" : "over 1000 times";
    return "odds " + said + (weight > 0 ? " larger" : " smaller");
  };
  const signed = weight => (weight > 0 ? "+" : weight < 0 ? "−" : "") + Math.abs(weight).toFixed(0);

  // One row for each belief; `before` is the state it is compared with.
  const rows = (body, now, before) => {
    body.replaceChildren();
    lesson.beliefs.forEach((belief, i) => {
      const row = make("tr");
      const [p, was] = [now.chances[i], before ? before.chances[i] : null];
      const weight = was === null || was === p ? 0 : decibans(p) - decibans(was);
      const moved = Number.isFinite(weight) && Math.abs(weight) >= 1;
      if (moved) row.className = "moved";
      row.append(make("th", belief.title, { scope: "row" }));
      const chance = make("td", short(p) + " (" + lesson.words[now.words[i]] + ")", { "data-name": "Chance" });
      const gauge = make("span", null, { class: "gauge", "aria-hidden": "true" });
      const fill = make("i");
      fill.style.width = 100 * p + "%";
      gauge.append(fill);
      if (was !== null) {
        const tick = make("b");
        tick.style.left = "calc(" + 100 * was + "% - 1px)";
        gauge.append(tick);
      }
      chance.prepend(gauge);
      row.append(chance);
      const by = !moved ? "–" : (weight > 0 ? "▲ up " : "▼ down ") + signed(weight) + " decibans (" + times(weight) + ")";
      row.append(make("td", by, { "data-name": "Moved" }));
      row.append(make("td", lesson.supports[now.supports[i]], { "data-name": "Support" }));
      row.append(make("td", lesson.actions[now.actions[i]], { "data-name": "Asks for" }));
      body.append(row);
    });
  };

  const because = step => {
    const list = $("because");
    list.replaceChildren();
    for (const told of step.moved) {
      const item = make("li");
      const details = make("details");
      details.open = told === step.moved[0] || step.moved.length < 4;
      details.append(make("summary", lesson.beliefs[told.belief].title + ": " + signed(told.decibans) + " decibans"));
      const hops = make("ol");
      for (const line of told.by) hops.append(make("li", line));
      details.append(hops);
      item.append(details);
      list.append(item);
    }
    const others = step.others ? " " + (step.others === 1 ? "One conclusion that is not in the table" : step.others + " conclusions that are not in the table") + " moved by a deciban or more." : "";
    $("because-none").textContent = (step.moved.length ? "" : "It moved nothing in the table by as much as a deciban.") + others;
  };

  // The drawing: what was seen up to now, the place of this sighting and its own mark standing out.
  const places = step => {
    const made = new Map(lesson.steps.map((one, i) => [one.sighting, i + 1]));
    for (const plan of document.querySelectorAll(".plan")) {
      plan.hidden = plan.dataset.case !== lesson.case;
      if (plan.hidden) continue;
      for (const node of plan.querySelectorAll(".place")) node.classList.toggle("here", !!step && node.dataset.place === step.place);
      for (const node of plan.querySelectorAll("[data-sighting]")) {
        node.classList.toggle("now", !!step && node.dataset.sighting === step.sighting);
        node.classList.toggle("later", (made.get(node.dataset.sighting) || 0) > at);
      }
    }
  };

  const show = () => {
    const step = at === 0 ? null : lesson.steps[at - 1];
    const waits = $("guess-first").checked && at > shown;
    $("back").disabled = at === 0;
    $("forward").disabled = at === lesson.steps.length || waits;
    $("at").max = lesson.steps.length;
    $("at").value = at;
    const where = at === 0 ? "Before any sighting" : "Sighting " + at + " of " + lesson.steps.length;
    $("at").setAttribute("aria-valuetext", where);
    $("where").textContent = where;
    $("says").textContent = step ? step.says : "Nothing has been looked at yet: these are the shares of such houses, with the facts of this one.";
    $("pass").textContent = step ? "Pass: " + step.pass + ". " + ({ seen: "Seen.", none: "Looked for, and not there.", "not reached": "Could not be looked at: that says nothing either way." })[step.kind] : "";
    $("guessing").hidden = !waits;
    $("reveal").hidden = waits;
    places(step);
    if (!waits) {
      if (!$("guess-first").checked) shown = Math.max(shown, at);
      const now = state(at);
      rows($("beliefs"), now, at === 0 ? null : state(at - 1));
      $("why-box").hidden = !step;
      if (step) because(step);
      $("most").textContent = "The most that anything asks for now: " + lesson.actions[now.most] + ".";
      const notices = $("notices");
      notices.replaceChildren(...now.notices.map(text => make("li", text)));
      const first = step && step.moved[0];
      $("aloud").textContent = where + ". " + $("says").textContent + (first
        ? " Most moved: " + lesson.beliefs[first.belief].title + ", " + signed(first.decibans) + " decibans, to " + short(now.chances[first.belief]) + "." : "");
    } else {
      $("aloud").textContent = where + ". " + $("says").textContent + " Your guess comes first.";
    }
  };

  const go = to => {
    const most = $("guess-first").checked ? shown + 1 : lesson.steps.length;
    at = Math.max(0, Math.min(to, most, lesson.steps.length));
    if (at === 0) shown = Math.max(shown, 0);
    show();
  };

  // Scores: Brier (1950). What the guess is held against is the weighing's chance, not the truth of the house.
  const brier = (guess, chance) => chance * (1 - guess) ** 2 + (1 - chance) * guess ** 2;
  const scores = () => {
    $("score-none").hidden = guesses.length > 0;
    $("score-some").hidden = guesses.length === 0;
    if (!guesses.length) return;
    const mean = pick => guesses.reduce((sum, one) => sum + pick(one), 0) / guesses.length;
    const yours = mean(one => brier(one.guess, one.chance));
    const best = mean(one => brier(one.chance, one.chance));
    const right = guesses.filter(one => one.support).length;
    const action = guesses.filter(one => one.action === 0).length;
    const under = guesses.filter(one => one.action < 0).length;
    $("score-line").textContent = guesses.length + " guesses. Brier score " + yours.toFixed(3) + " (0 is best; the weighing itself would score "
      + best.toFixed(3) + "). Support named alike: " + right + ". Action alike: " + action + "; less careful than the weighing: " + under
      + "; more careful: " + (guesses.length - action - under) + ".";
    const body = $("bands");
    body.replaceChildren();
    for (let low = 0; low < 1; low += 0.2) {
      const inside = guesses.filter(one => one.guess >= low - 1e-9 && (one.guess < low + 0.2 - 1e-9 || low > 0.7));
      if (!inside.length) continue;
      const row = make("tr");
      const average = pick => (inside.reduce((sum, one) => sum + pick(one), 0) / inside.length).toFixed(2);
      row.append(make("th", low.toFixed(1) + " to " + (low + 0.2).toFixed(1), { scope: "row" }), make("td", inside.length),
        make("td", average(one => one.guess)), make("td", average(one => one.chance)));
      body.append(row);
    }
  };
  const guess = () => {
    const i = Number($("question").value);
    const now = state(at);
    const one = { case: lesson.case, step: at, belief: lesson.beliefs[i].id, guess: Number($("chance").value) / 100, chance: now.chances[i],
      support: Number($("support").value) === now.supports[i], action: Number($("action").value) - now.actions[i] };
    guesses.push(one);
    keep();
    shown = Math.max(shown, at);
    show();
    scores();
    $("verdict").textContent = "You said " + one.guess.toFixed(2) + ", the weighing says " + short(one.chance) + ", " + lesson.supports[now.supports[i]]
      + (one.support ? " as you did" : "") + ". It asks for: " + lesson.actions[now.actions[i]]
      + (one.action === 0 ? ", as you did." : one.action < 0 ? "; yours was less careful." : "; yours was more careful.");
    $("forward").focus();
  };

  // Suppose: the state at the end with one or two things changed.
  const supposed = () => {
    const end = state(lesson.steps.length);
    if (off.length === 1) return lesson.suppose[off[0]].state;
    if (off.length === 2) {
      const pair = lesson.pairs.find(([a, b]) => a === Math.min(...off) && b === Math.max(...off));
      return pair ? pair[2] : null;
    }
    return end;
  };
  const paired = i => off.length === 0 || off.includes(i)
    || (off.length === 1 && lesson.pairs.some(([a, b]) => a === Math.min(off[0], i) && b === Math.max(off[0], i)));
  const suppose = () => {
    const end = state(lesson.steps.length);
    for (const box of document.querySelectorAll("#suppose input")) box.disabled = !paired(Number(box.value));
    const now = supposed() || end;
    rows($("supposed"), now, end);
    $("suppose-most").textContent = (off.length ? "Then the most that anything asks for: " : "As it stands, the most that anything asks for: ")
      + lesson.actions[now.most] + (off.length && now.most !== end.most ? " (it was: " + lesson.actions[end.most] + ")." : ".");
  };
  const supposeList = () => {
    off = [];
    const list = $("suppose");
    list.replaceChildren();
    lesson.suppose.forEach((one, i) => {
      const item = make("li");
      const label = make("label");
      const box = make("input", null, { type: "checkbox", value: i });
      box.checked = one.taken_in;
      box.addEventListener("change", () => {
        off = box.checked === one.taken_in ? off.filter(other => other !== i) : off.concat(i);
        suppose();
      });
      label.append(box, make("span", one.says));
      item.append(label);
      list.append(item);
    });
    suppose();
  };

  const open = index => {
    lesson = lessons[index];
    at = 0;
    shown = 0;
    $("title").textContent = lesson.title;
    for (const list of document.querySelectorAll(".all-steps")) list.hidden = list.dataset.case !== lesson.case;
    $("question").replaceChildren(...lesson.beliefs.map((belief, i) => make("option", belief.title, { value: i })));
    $("support").replaceChildren(...lesson.supports.map((name, i) => make("option", name, { value: i })));
    $("action").replaceChildren(...lesson.actions.map((name, i) => make("option", name, { value: i })));
    $("support").value = lesson.supports.indexOf("not moved");
    $("verdict").textContent = "";
    supposeList();
    show();
  };

  $("back").addEventListener("click", () => go(at - 1));
  $("forward").addEventListener("click", () => go(at + 1));
  $("at").addEventListener("input", event => go(Number(event.target.value)));
  $("guess-first").addEventListener("change", () => { shown = at; $("verdict").textContent = ""; show(); });
  $("only-moved").addEventListener("change", event => $("beliefs").classList.toggle("only-moved", event.target.checked));
  $("chance").addEventListener("input", event => { $("chance-said").textContent = event.target.value + " in 100"; });
  $("show").addEventListener("click", guess);
  $("forget").addEventListener("click", () => { guesses = []; keep(); scores(); });
  const cases = $("cases");
  if (cases) cases.addEventListener("change", () => open(Number(cases.value)));
  document.addEventListener("keydown", event => {
    if (event.target.closest("input, select, textarea, summary") || event.ctrlKey || event.metaKey || event.altKey) return;
    const to = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: lesson.steps.length }[event.key];
    if (to === undefined) return;
    event.preventDefault();
    go(to);
  });
  $("walk").hidden = false;
  open(0);
  scores();
})();
