// Choose a table of homes or a run, how many visits a week, and which homes are shown.

function render({ model, el }) {
  const pick = (id, words, message) => {
    const select = make("select", { id, onchange: () => tell(model, message(select.value)) });
    return [select, make("div", { class: "pickone" }, make("label", { for: id }, words), select)];
  };
  const [choice, choiceBox] = pick("rk-run", "Table of homes, or a run", (name) => ({ kind: "choose", name }));
  const [rain, rainBox] = pick("rk-rain", "Rain of homes that name none", (name) => ({ kind: "rain", name }));
  const filter = (what, words) => pick(`rk-${what}`, words, (name) => ({ kind: "filter", what, name }));
  const [place, placeBox] = filter("neighbourhood", "Neighbourhood");
  const [offered, offeredBox] = filter("offer", "To offer");
  const [overdue, overdueBox] = filter("overdue", "Due");
  const visits = make("input", { type: "text", id: "rk-visits", inputmode: "numeric", size: "6",
    onchange: () => tell(model, { kind: "visits", text: visits.value }) });
  const visitsBox = make("div", { class: "pickone" }, make("label", { for: "rk-visits" }, "Visits a week"), visits);
  const run = make("button", { type: "button", onclick: () => tell(model, { kind: "run" }) }, "Work these homes out");
  const bar = make("progress", { "aria-label": "Work done" });
  const stop = make("button", { type: "button", onclick: () => tell(model, { kind: "stop" }) }, "Stop");
  const busy = make("div", { class: "tools busy" }, bar, stop);
  const words = make("p", { role: "status" }), wrong = make("p", { class: "error", role: "alert" });
  const folder = make("p", { class: "help" });
  const lost = make("div", { class: "trouble", hidden: true }, make("p", { role: "alert" }));
  const filters = make("div", { class: "tools", role: "group", "aria-label": "Show only" }, placeBox, offeredBox, overdueBox);
  el.append(make("header", { class: "rk rk-top" }, make("div", { class: "row" },
    make("div", { class: "who" }, make("p", { class: "page" }, wayBack(), "Company"), make("h1", {}, "Whom to visit first"))), lost),
    make("section", { class: "rk rk-record", "aria-label": "Choose homes" },
      make("div", { class: "tools" }, choiceBox, rainBox, visitsBox, run), filters, folder, words, busy, wrong));

  function show() {
    const view = model.get("view");
    const same = (names) => names.map((name) => [name, name]);
    offer(choice, [["", "choose one"], ...view.choices], view.chosen);
    rainBox.hidden = !view.is_table;
    offer(rain, [["", "none"], ...same(view.rains)], view.rain);
    run.hidden = !view.is_table || Boolean(view.busy);
    visitsBox.hidden = !view.chosen;
    if (document.activeElement !== visits) visits.value = view.visits;
    filters.hidden = !view.planned;
    offer(place, [["", "all"], ...same(view.neighbourhoods)], view.filters.neighbourhood);
    offer(offered, [["", "all"], ...same(view.offers)], view.filters.offer);
    offer(overdue, [["", "all"], ["yes", "overdue"]], view.filters.overdue);
    busy.hidden = !view.busy;
    write(words, view.busy ? `${sentenceCase(view.busy)} …` : "");
    write(wrong, view.trouble);
    write(folder, `Files in ${view.folder}`);
  }

  const end = follow(model, ["view"], show);
  const quiet = heartbeat(model, (now) => {
    lost.hidden = !now;
    write(lost.firstChild, now ? "The computing part of this page does not answer. What is shown stays. If this stays, load "
      + "the page again." : "");
  });
  tell(model, { kind: "hello" });
  return () => { quiet(); end(); };
}

export default { render };
