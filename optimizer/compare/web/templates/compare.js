"use strict";
// The difference of two alternatives, and pages at full size. Everything else on the page stands without this script.
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const byNumber = new Map(data.alternatives.map((one) => [one.number, one]));
  const all = (selector) => [...document.querySelectorAll(selector)];
  const told = document.getElementById("difference-told");
  document.documentElement.classList.add("scripts");

  const element = (name, properties = {}, ...children) => {
    const made = Object.assign(document.createElement(name), properties);
    made.append(...children);
    return made;
  };
  const figure = (value) => String(Math.round(value * 100) / 100);

  // --- the difference ---------------------------------------------------------------------------------------
  const verdict = (merit, a, b) => {
    if (a === b) return ["the same", 0];
    const by = figure(Math.abs(a - b));
    const better = merit.more ? a > b : a < b;
    return [`A ${(better ? merit.better : merit.worse).replace("{by}", by)}`, better ? -1 : 1];
  };

  const meritRow = (merit, a, b) => {
    const [words, side] = verdict(merit, a.values[merit.key], b.values[merit.key]);
    const cell = (one, wins) => {
      const made = element("td", { className: wins ? "figure better" : "figure" }, figure(one.values[merit.key]));
      if (wins) made.append(element("span", { className: "unseen" }, " (better)"));
      return made;
    };
    const name = element("th", { scope: "row" }, merit.name + (merit.unit ? `, ${merit.unit}` : ""));
    const row = element("tr", {}, name, cell(a, side < 0), cell(b, side > 0), element("td", {}, words));
    row.dataset.merit = merit.key;
    return row;
  };

  const meritTable = (a, b) => {
    const head = ["", `A: no. ${a.number}`, `B: no. ${b.number}`, "in words"].map((text) => element("th", { scope: "col" }, text));
    return element(
      "table", {},
      element("caption", {}, `A, ${a.label}, beside B, ${b.label}. Bold: the better one.`),
      element("thead", {}, element("tr", {}, ...head)),
      element("tbody", {}, ...data.merits.map((merit) => meritRow(merit, a, b))),
    );
  };

  const sign = (grade) => {
    const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    const use = document.createElementNS("http://www.w3.org/2000/svg", "use");
    for (const [key, value] of [["class", "sign"], ["viewBox", "-7 -7 14 14"], ["aria-hidden", "true"]]) svg.setAttribute(key, value);
    use.setAttribute("href", `#grade-${grade}`);
    svg.append(use);
    return svg;
  };

  const points = (turn) => `${turn.grade}, ${turn.cost} points${turn.passes > 1 ? `, played ${turn.passes} times` : ""}`;
  const pages = (turn) => `page ${turn.pages[0]} to ${turn.pages[1]}`;

  const turnItem = (turn, other) => {
    const same = !other || points(turn) === points(other);
    const grades = same ? points(turn) : `${points(turn)} in A, ${points(other)} in B`;
    const where = !other || pages(turn) === pages(other) ? pages(turn) : `${pages(turn)} in A, ${pages(other)} in B`;
    const item = element("li", {}, sign(turn.grade), ` ${turn.place} `, element("small", {}, `${grades}; ${where}`));
    item.dataset.turn = turn.key;
    return item;
  };

  const side = (id, heading, items) => element(
    "section", { id, className: "side" },
    element("h3", {}, `${heading} (${items.length})`),
    items.length ? element("ul", { className: "turns" }, ...items) : element("p", {}, "none"),
  );

  const turnSides = (a, b) => {
    const [inA, inB] = [a, b].map((one) => new Map(one.turns.map((turn) => [turn.key, turn])));
    const only = (mine, theirs) => [...mine.values()].filter((turn) => !theirs.has(turn.key)).map((turn) => turnItem(turn));
    const both = [...inA.values()].filter((turn) => inB.has(turn.key)).map((turn) => turnItem(turn, inB.get(turn.key)));
    return element(
      "div", { className: "sides" },
      side("only-A", "Turns of A only", only(inA, inB)), side("both", "Turns of both", both),
      side("only-B", "Turns of B only", only(inB, inA)),
    );
  };

  const strip = (slot, one) => {
    const copy = document.querySelector(`#alt-${one.number} .strip`).cloneNode(true);
    copy.setAttribute("aria-label", `${slot}: the piece in playing order, alternative ${one.number}`);
    return [element("p", { className: "slot-line" }, element("b", { className: `slot slot-${slot}` }, slot), ` ${one.number}: ${one.label}`), copy];
  };

  // --- what is chosen ---------------------------------------------------------------------------------------
  // In the address too, after what else stands there ("#alt-3&A=2&B=3"), so that a link or a reload keeps it.
  const first = data.alternatives[0];
  const chosen = { A: first, B: data.alternatives.find((one) => one !== first && one.group === first.group) ?? data.alternatives.at(-1) };

  let kept = false;

  const place = () => location.hash.slice(1).split("&").find((part) => !part.includes("="));

  const fromAddress = () => {
    const named = new URLSearchParams(location.hash.slice(1));
    for (const slot of ["A", "B"]) chosen[slot] = byNumber.get(Number(named.get(slot))) ?? chosen[slot];
    if (!named.has("A") && !named.has("B")) return false;
    kept = true;
    show();
    document.getElementById(place())?.scrollIntoView();
    return true;
  };

  const toAddress = () => {
    kept = true;
    const words = [place(), `A=${chosen.A.number}`, `B=${chosen.B.number}`].filter(Boolean);
    try {
      history.replaceState(null, "", `#${words.join("&")}`);
    } catch {
      // A page without an address of its own, in a mail say, cannot keep it.
    }
  };

  const show = () => {
    for (const slot of ["A", "B"]) {
      document.getElementById(`pick-${slot}`).value = chosen[slot].number;
      for (const one of all(`.card, .mark, tr[data-number]`)) one.classList.toggle(`is-${slot}`, Number(one.dataset.number) === chosen[slot].number);
      for (const button of all(`button[data-slot=${slot}]`)) button.setAttribute("aria-pressed", String(Number(button.dataset.number) === chosen[slot].number));
    }
    for (const mark of all(".mark")) {
      mark.querySelector(".tag").textContent = ["A", "B"].filter((slot) => mark.classList.contains(`is-${slot}`)).join("");
    }
    const { A: a, B: b } = chosen;
    told.replaceChildren(meritTable(a, b), turnSides(a, b), ...strip("A", a), ...strip("B", b));
    document.getElementById("picked-told").textContent = `A: no. ${a.number}, B: no. ${b.number}`;
  };

  const choose = (slot, number) => {
    chosen[slot] = byNumber.get(Number(number));
    toAddress();
    show();
  };

  if (told) {
    for (const slot of ["A", "B"]) {
      document.getElementById(`pick-${slot}`).addEventListener("change", (event) => choose(slot, event.target.value));
    }
    for (const button of all("button[data-slot]")) {
      button.addEventListener("click", () => choose(button.dataset.slot, button.dataset.number));
    }
    if (!fromAddress()) show();
    addEventListener("hashchange", () => {
      if (!fromAddress() && kept) toAddress();
    });
  }

  // --- pages at full size -----------------------------------------------------------------------------------
  const closer = document.getElementById("closer");
  for (const button of all("button.closer")) {
    button.addEventListener("click", () => {
      const copy = button.closest("figure").querySelector("svg").cloneNode(true);
      copy.style.width = `${button.dataset.width}mm`;
      document.getElementById("closer-heading").textContent = copy.getAttribute("aria-label");
      const body = closer.querySelector(".closer-body");
      body.replaceChildren(copy);
      closer.showModal();
      body.scrollLeft = (body.scrollWidth - body.clientWidth) / 2;
    });
  }
  document.getElementById("closer-shut").addEventListener("click", () => closer.close());

  // --- on paper nothing is folded away ----------------------------------------------------------------------
  let folded = [];
  addEventListener("beforeprint", () => {
    folded = all("details:not([open])");
    for (const one of folded) one.open = true;
  });
  addEventListener("afterprint", () => {
    for (const one of folded) one.open = false;
  });
})();
