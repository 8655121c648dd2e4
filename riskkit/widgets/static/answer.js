// The key figure, which stays in sight, a short sentence, and the switches of the picture below it.

function render({ model, el }) {
  const order = make("h2", {}), alerts = make("ul", {});
  const first = make("div", { class: "alerts" }, order, alerts);
  const value = make("b", {}), likely = make("span", {}), of = make("small", {});
  const time = make("p", { class: "time" }, value, " ", likely, of);
  const yearly = make("b", {}), yearlyOf = make("small", {});
  const chance = make("p", { class: "chance" }, yearly, " ", yearlyOf);
  const short = make("p", { class: "short" });
  const trouble = make("p", { class: "sentence wrong" });
  const live = (...parts) => make("div", { "aria-live": "polite", "aria-atomic": "true" }, ...parts);
  const above = live(first), figures = live(time, chance);
  figures.className = "figures";
  const owner = make("button", { type: "button", class: "owner", "aria-pressed": "false", onclick: () => setOwner(!isOwner) });
  const lead = make("div", { class: "lead" }, figures, owner);
  const without = make("p", { id: "rk-refused" }), goTo = make("button", { type: "button", onclick: () => {
    const keys = model.get("view").refused.keys; // each press goes to the next one
    at = keys[(keys.indexOf(at) + 1) % keys.length];
    document.dispatchEvent(new CustomEvent("rk-go-to", { detail: at }));
  } });
  const refused = make("div", { class: "refused" }, make("div", { role: "status" }, without), goTo);
  const cures = make("div", { class: "tools cures" });
  const regional = make("p", { class: "regional" }), since = make("p", { class: "since" });
  const state = make("p", { class: "state" });
  const storms = make("div", { class: "pair storms", role: "group", "aria-label": "Storm" });
  const pump = make("div", { class: "pair", role: "group", "aria-label": "Pump in the picture" });
  const switches = make("div", { class: "switches" },
    make("div", {}, make("span", { class: "name" }, "Storm, in years"), storms),
    make("div", {}, make("span", { class: "name" }, "In the picture the pump"), pump));
  const said = live(short, regional, since, trouble);
  const rest = make("div", { class: "rest" }, refused, cures, state, switches);
  const root = make("section", { class: "rk rk-answer", "aria-label": "Answer" }, above, lead, said, rest);
  el.append(root);
  el.classList.add("rk-flat"); // so that the figure can stay in sight all the way down
  let isOwner = false;
  function setOwner(yes) {
    isOwner = yes;
    const page = root.closest(".rk-page");
    page?.classList.toggle("rk-owner", yes);
    page?.classList.remove("rk-helping");
    owner.setAttribute("aria-pressed", String(yes));
    write(owner, yes ? "Back to the form" : "Show the owner");
    if (yes) root.closest(".rk-column")?.scrollTo(0, 0);
    document.dispatchEvent(new CustomEvent("rk-owner", { detail: yes }));
  }
  const leave = (event) => { if (event.key === "Escape" && isOwner) setOwner(false); };
  document.addEventListener("keydown", leave);
  setOwner(false);

  function choice(words, pressed, message, label) {
    return make("button", { type: "button", class: "toggle", "aria-pressed": String(pressed), "aria-label": label,
      onclick: () => tell(model, message) }, words);
  }

  function put(group, buttons) {
    const had = [...group.children].indexOf(document.activeElement);
    group.replaceChildren(...buttons);
    if (had >= 0) group.children[had]?.focus();
  }

  let before = "", rain = "", at = "";
  function show() {
    const view = model.get("view");
    root.dataset.turn = view.turn;
    root.dataset.refining = view.refining ? "yes" : "no";
    write(order, view.order_first);
    const lines = view.alerts ?? [];
    if (lines.join("\n") !== [...alerts.children].map((item) => item.textContent).join("\n"))
      alerts.replaceChildren(...lines.map((line) => make("li", {}, line)));
    first.hidden = !lines.length;
    const { figure } = view;
    const waits = !figure && !view.trouble;
    lead.hidden = !figure;
    short.hidden = !figure && !waits;
    write(value, figure?.value ?? "");
    write(likely, figure?.likely ?? "");
    write(of, figure?.of ?? "");
    write(short, waits ? "The answer is being worked out." : figure?.short ?? "");
    chance.hidden = !figure?.chance;
    chance.classList.toggle("old", Boolean(figure?.chance?.[2]));
    write(yearly, figure?.chance?.[0] ?? "");
    write(yearlyOf, figure?.chance?.[1] ?? "");
    write(trouble, view.trouble);
    write(regional, view.regional ?? "");
    regional.hidden = !view.regional;
    write(since, view.since ?? "");
    since.hidden = !view.since;
    trouble.hidden = !view.trouble;
    const offered = JSON.stringify(view.rain ?? null);
    if (offered !== rain) {
      rain = offered;
      put(cures, view.rain ? [...view.rain.map((name) => make("button", { type: "button", onclick: () =>
        tell(model, { kind: "use_rain", name }) }, `Use ${name}`)),
      make("button", { type: "button", onclick: () => tell(model, { kind: "find_rain" }) }, "Find rain near the home")] : []);
    }
    cures.hidden = !view.rain;
    write(without, view.refused?.words ?? "");
    write(goTo, view.refused?.keys.length > 1 ? "Go to the next" : "Go to it");
    goTo.hidden = !view.refused;
    refused.classList.toggle("any", Boolean(view.refused));
    write(state, view.state);
    switches.hidden = !figure;
    const now = JSON.stringify([view.storms, view.headline, view.stopped, view.has_pump, view.two_pumps]);
    if (now === before) return;
    before = now;
    put(storms, view.storms.map((yr) => choice(`${yr}`, yr === view.headline, { kind: "storm", yr }, `${yr}-year storm`)));
    pump.parentElement.hidden = !view.has_pump;
    put(pump, [[view.two_pumps ? "stops, and the second too, at the worst moment" : "stops at the worst moment", true], ["works", false]].map(([words, stopped]) =>
      choice(words, stopped === view.stopped, { kind: "stopped", stopped })));
  }

  const stop = follow(model, ["view"], show);
  return () => {
    document.removeEventListener("keydown", leave);
    stop();
  };
}

export default { render };
