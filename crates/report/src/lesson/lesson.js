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

  const last = () => lesson.steps.length;   // the step after it is the end
  const state = step => step === 0 ? lesson.start : lesson.steps[Math.min(step, last()) - 1].state;
  const short = p => p === 0 ? "0" : p < 0.0005 ? "under 0.001" : p > 0.9995 ? "over 0.999"
    : p < 0.01 || p > 0.99 ? p.toFixed(3) : p.toFixed(2);
  // Beside its word of support: a digit more where two would print a bound that it does not reach, or that it is just over.
  const beside = p => {
    const [some, fair, strong] = lesson.bounds;
    const prints = (text, bound) => Math.abs(Number(text) - bound) < 1e-9;
    for (const [bound, which, is] of [[some, "under", p < some], [fair, "under", p < fair], [strong, "over", p > strong]]) {
      if (is && prints(short(p), bound)) return prints(p.toFixed(3), bound) ? "just " + which + " " + short(bound) : p.toFixed(3);
    }
    return short(p);
  };
  const decibans = p => 10 * Math.log10(p / (1 - p));
  // How much, in words first: the same words as in the lists that stand without a script.
  const times = weight => {
    const factor = Math.pow(10, Math.abs(weight) / 10);
    if (factor < 1.05) return "odds hardly changed";
    const said = factor < 2.95 ? "about " + Number(factor.toFixed(1)) : factor < 100 ? "about " + factor.toFixed(0)
      : factor < 1000 ? "about " + 10 * Math.round(factor / 10) : "over 1000";
    return weight > 0 ? "odds " + said + " times as large" : "odds divided by " + said;
  };
  const inDecibans = weight => {
    const whole = Math.abs(weight).toFixed(0);
    return whole + (whole === "1" ? " deciban" : " decibans");
  };
  const amount = weight => times(weight) + " (" + inDecibans(weight) + ")";
  const counted = (count, one, many) => count === 1 ? "1 " + one : count + " " + many;
  const name = belief => belief.title + (belief.group ? " (a group)" : "");

  // What a belief asks for; a group that asks for nothing by itself points to its causes.
  const asks = (state, i) => state.actions[i] === 0 && lesson.beliefs[i].causes.some(cause => state.actions[cause] > 0)
    ? "nothing by itself: see its causes" : lesson.actions[state.actions[i]];
  const mostOf = state => lesson.actions[state.most] + (state.who.length ? ", for " + state.who.slice(0, 3).join("; ")
    + (state.who.length > 3 ? "; and " + (state.who.length - 3) + " more" : "") : "");
  // Where a belief stands; before any sighting nothing can have moved it.
  const stands = (of, i) => of === lesson.start ? "nothing was looked at yet" : lesson.supports[of.supports[i]];
  // One row for each belief; `before` is the state it is compared with. Where a step told how much it moved, that is it.
  const rows = (body, now, before, step) => {
    body.replaceChildren();
    lesson.beliefs.forEach((belief, i) => {
      const row = make("tr");
      const [p, was] = [now.chances[i], before ? before.chances[i] : null];
      const told = step ? step.moved.find(one => one.belief === i) : null;
      const weight = step ? (told ? told.decibans : 0) : was === null || was === p ? 0 : decibans(p) - decibans(was);
      const moved = Number.isFinite(weight) && Math.abs(weight) >= 1;
      if (moved) row.className = "moved";
      const title = make("th", belief.title, { scope: "row" });
      if (belief.group) title.append(make("span", "a group: at least one of its causes", { class: "note" }));
      row.append(title);
      // Near 0 or 1 a chance moves less than its digits show.
      const same = moved && short(p) === short(was) ? "; as before in these digits" : "";
      const chance = make("td", beside(p) + " (" + lesson.words[now.words[i]] + same + ")", { "data-name": "Chance" });
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
      const by = !moved ? "–" : (weight > 0 ? "▲ up, " : "▼ down, ") + amount(weight);
      row.append(make("td", by, { "data-name": "Moved" }));
      row.append(make("td", stands(now, i), { "data-name": "Where it stands" }));
      row.append(make("td", asks(now, i), { "data-name": "Asks for" }));
      body.append(row);
    });
  };

  const because = step => {
    const list = $("because");
    list.replaceChildren();
    for (const told of step.moved) {
      const item = make("li");
      const details = make("details");
      details.open = true;
      details.append(make("summary", name(lesson.beliefs[told.belief]) + ": " + amount(told.decibans)));
      const hops = make("ol");
      for (const line of told.by) hops.append(make("li", line));
      details.append(hops);
      item.append(details);
      list.append(item);
    }
    $("why-box").hidden = !step.moved.length;
  };

  // What asks for something else than before, and why: a chance can rise while less is asked for.
  const asked = (now, before) => {
    const items = lesson.beliefs.flatMap((belief, i) => !before || now.actions[i] === before.actions[i] ? [] : [
      make("li", belief.title + " now asks for: " + lesson.actions[now.actions[i]] + " (before: " + lesson.actions[before.actions[i]]
        + "). Why: " + lesson.whys[now.whys[i]] + ".")]);
    $("asked").replaceChildren(...items);
  };

  // A list under a fold, gone when there is nothing in it.
  const folded = (id, lines, head) => {
    $(id + "-box").hidden = !lines.length;
    $(id + "-head").textContent = head;
    $(id).replaceChildren(...lines.map(line => make("li", line)));
  };

  // The drawing: what was seen up to now, the place of this sighting and its own mark standing out.
  const places = step => {
    const made = new Map(lesson.steps.map((one, i) => [one.sighting, i + 1]));
    for (const plan of document.querySelectorAll("div.plan")) {
      plan.hidden = plan.dataset.case !== lesson.case;
      if (plan.hidden) continue;
      for (const node of plan.querySelectorAll(".place")) node.classList.toggle("here", !!step && node.dataset.place === step.place);
      for (const node of plan.querySelectorAll("[data-sighting]")) {
        node.classList.toggle("now", !!step && node.dataset.sighting === step.sighting);
        // One that was replaced stands until the one after it is made.
        node.classList.toggle("later", (made.get(node.dataset.sighting) || 0) > at || (made.get(node.dataset.until) || at + 1) <= at);
      }
    }
  };

  const WHAT = {
    seen: "Seen.", none: "Looked for, and not there.", "not reached": "Could not be looked at: that says nothing either way.",
    hidden: "Nothing was found, but something hides it: that counts as not looked.",
  };
  const onlyMoved = () => {
    const some = $("beliefs").querySelector(".moved");
    const only = $("only-moved").checked && at > 0;
    $("beliefs").classList.toggle("only-moved", only);
    $("table").hidden = only && !some;
    $("moved-none").textContent = at === 0 || some ? "" : "Beside the sightings before it, it moved nothing in the table by as much as a deciban."
      + (only ? " To see where everything stands, untick “Show only what moved”." : "");
  };
  const revealed = step => {
    const [now, before] = [state(at), at === 0 ? null : state(at - 1)];
    rows($("beliefs"), now, before, step);
    onlyMoved();
    $("asides").replaceChildren(...(step ? step.asides : []).map(line => make("li", line)));
    asked(now, before);
    because(step || { moved: [] });
    const others = step ? step.others : [];
    folded("others", others.map(([title, weight]) => title + ": " + amount(weight)), counted(others.length, "conclusion that is not in the table moved, too", "conclusions that are not in the table moved, too")
      + ": the table has those that ask for something at the end or moved most on the way");
    folded("notices", now.notices, counted(now.notices.length, "limit or hazard noticed so far", "limits or hazards noticed so far"));
    $("most").textContent = "The most that anything asks for now: " + mostOf(now) + ".";
  };
  // The next sighting that moved something shown; the end where there is none.
  const nextMoved = () => {
    const next = lesson.steps.findIndex((step, i) => i >= at && step.moved.length > 0);
    return next < 0 ? last() + 1 : next + 1;
  };
  // Where the cause that is guessed about stood before this sighting: the guess starts from there.
  const stood = () => {
    const i = Number($("question").value);
    const before = state(at - 1);
    $("stood").textContent = "Before this sighting: " + short(before.chances[i]) + ", " + stands(before, i) + "; asks for: " + asks(before, i) + ".";
    $("chance").value = Math.round(100 * before.chances[i]);
    $("chance-said").textContent = $("chance").value + " in 100";
    $("support").value = before.supports[i];
    $("action").value = before.actions[i];
  };
  const show = () => {
    const atEnd = at > last();
    const step = at === 0 || atEnd ? null : lesson.steps[at - 1];
    const guessing = $("guess-first").checked;
    const waits = guessing && at > shown && !atEnd;
    $("back").disabled = at === 0;
    $("forward").disabled = atEnd || waits;
    $("at").max = last() + 1;
    $("at").value = at;
    const where = at === 0 ? "Before any sighting" : atEnd ? "At the end" : "Sighting " + at + " of " + last();
    $("at").setAttribute("aria-valuetext", where);
    $("where").textContent = where;
    $("stepping").hidden = $("to-drawing").hidden = atEnd;
    $("end").classList.toggle("waits", !atEnd);
    // What gives the end away waits until every guess is made.
    const early = guessing && shown < last();
    $("to-end").hidden = early || atEnd;
    for (const part of document.querySelectorAll(".tells")) part.hidden = early;
    if (atEnd) {
      const end = document.querySelector(".ending:not([hidden]) .asks");
      $("aloud").textContent = where + ". " + (end ? end.textContent : "");
      return;
    }
    $("says").textContent = step ? step.says : "Nothing has been looked at yet: these are the shares of such houses, with the facts of this one.";
    $("pass").textContent = step ? WHAT[step.kind] + " Pass: " + step.pass + ". In the drawing: "
      + (step.mark || "no mark, a later sighting stands in its place") + ". Its name in the case file: " + step.sighting + "." : "";
    $("guessing").hidden = !waits;
    $("reveal").hidden = waits;
    places(step);
    $("first").textContent = waits ? "Your guess comes first, then Forward goes on." : "";
    $("next-moved").disabled = waits || nextMoved() > last();
    if (waits) {
      stood();
      $("aloud").textContent = where + ". " + $("says").textContent + " Your guess comes first.";
      return;
    }
    if (!guessing) shown = Math.max(shown, at);
    revealed(step);
    const first = step && step.moved[0];
    $("aloud").textContent = where + ". " + $("says").textContent + (first ? " Most moved: " + lesson.beliefs[first.belief].title + ", "
      + amount(first.decibans) + ", to " + short(state(at).chances[first.belief]) + "." : "");
  };

  const go = to => {
    const most = $("guess-first").checked ? shown + 1 : last() + 1;
    at = Math.max(0, Math.min(to, most, last() + 1));
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
    $("score-line").textContent = counted(guesses.length, "guess", "guesses") + ". Your chances: Brier score " + yours.toFixed(3)
      + "; the weighing's own chances would get " + best.toFixed(3) + ". Where it stands, named alike: " + right + ". Asked for the same: "
      + action + "; for less: " + under + "; for more: " + (guesses.length - action - under) + ".";
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
    $("verdict").textContent = "You said " + one.guess.toFixed(2) + ", the weighing says " + short(one.chance) + ": " + lesson.supports[now.supports[i]]
      + (one.support ? ", as you did" : "") + ". It asks for: " + lesson.actions[now.actions[i]]
      + (one.action === 0 ? ", as you did." : ". You asked for " + (one.action < 0 ? "less" : "more") + " than the weighing did.");
    $("forward").focus();
  };

  // Suppose: the state at the end with one or two things changed.
  const supposed = () => {
    const end = state(last());
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
    const end = state(last());
    const boxes = [...document.querySelectorAll("#suppose input")];
    for (const box of boxes) box.disabled = !paired(Number(box.value));
    const now = supposed() || end;
    rows($("supposed"), now, end);
    $("supposed").classList.toggle("only-moved", off.length > 0 && !!$("supposed").querySelector(".moved"));
    $("suppose-most").textContent = (off.length ? "Then the most that anything asks for: " : "As it stands, the most that anything asks for: ")
      + mostOf(now) + (off.length && now.most !== end.most ? " (it was: " + lesson.actions[end.most] + ")." : ".");
    for (const old of document.querySelectorAll("#suppose .result")) old.remove();
    $("supposed-table").hidden = !off.length;
    if (!off.length) return;
    // Beside the box that was changed last: on a phone the table is far away.
    const most = lesson.beliefs.map((belief, i) => ({ i, weight: decibans(now.chances[i]) - decibans(end.chances[i]) }))
      .filter(one => Number.isFinite(one.weight) && Math.abs(one.weight) >= 1).sort((a, b) => Math.abs(b.weight) - Math.abs(a.weight)).slice(0, 3);
    const told = most.map(({ i }) => name(lesson.beliefs[i]) + ": " + short(end.chances[i]) + " to " + short(now.chances[i]) + ".").join(" ");
    const limit = off.length === 2 ? " Two changes at a time are the most: put one back to try another."
      : boxes.some(box => box.disabled) ? " The greyed boxes were not weighed together with this one: pairs are weighed of the first signs seen only." : "";
    const freed = off.flatMap(i => lesson.suppose[i].frees);
    const frees = freed.length ? " With it away, " + freed.join("; ") + " is weighed by itself, which it was not before." : "";
    const box = boxes.find(one => Number(one.value) === off[off.length - 1]);
    box.closest("li").append(make("p", (told || "That moves nothing in the table by as much as a deciban.") + " " + $("suppose-most").textContent + frees + limit, { class: "result note" }));
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
    for (const list of document.querySelectorAll(".all-steps, .ending")) list.hidden = list.dataset.case !== lesson.case;
    $("question").replaceChildren(...lesson.beliefs.map((belief, i) => make("option", name(belief), { value: i })));
    $("support").replaceChildren(...lesson.supports.map((name, i) => make("option", name, { value: i })));
    $("action").replaceChildren(...lesson.actions.map((name, i) => make("option", name, { value: i })));
    $("verdict").textContent = "";
    supposeList();
    show();
  };

  $("back").addEventListener("click", () => go(at - 1));
  $("forward").addEventListener("click", () => go(at + 1));
  $("next-moved").addEventListener("click", () => go(nextMoved()));
  $("question").addEventListener("change", stood);
  $("at").addEventListener("input", event => go(Number(event.target.value)));
  $("guess-first").addEventListener("change", () => { shown = at; $("verdict").textContent = ""; show(); });
  $("only-moved").addEventListener("change", onlyMoved);
  $("to-end").addEventListener("click", event => { event.preventDefault(); go(last() + 1); $("end").focus(); });
  $("to-drawing").addEventListener("click", () => { $("drawing").open = true; });
  $("chance").addEventListener("input", event => { $("chance-said").textContent = event.target.value + " in 100"; });
  $("show").addEventListener("click", guess);
  $("forget").addEventListener("click", () => { guesses = []; keep(); scores(); });
  const cases = $("cases");
  if (cases) cases.addEventListener("change", () => open(Number(cases.value)));
  document.addEventListener("keydown", event => {
    if (event.target.closest("input:not([type=checkbox]), select, textarea") || event.ctrlKey || event.metaKey || event.altKey) return;
    const to = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: last() + 1 }[event.key];
    if (to === undefined) return;
    event.preventDefault();
    go(to);
  });
  // On a narrow screen what a sighting moved comes first; the drawing, and at the end what comes second, wait to be opened.
  const narrow = window.matchMedia("(max-width: 48rem)").matches;
  $("drawing").open = !narrow;
  for (const part of document.querySelectorAll("details.fold")) part.open = !narrow;
  $("walk").hidden = false;
  open(0);
  scores();
})();
