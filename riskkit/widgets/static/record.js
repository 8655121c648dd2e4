// Choose a rain record, a table and a neighbour, see how far the work is, stop it.

function render({ model, el }) {
  const pick = (what, words) => {
    const select = make("select", { id: `rk-${what}`, onchange: () => tell(model, { kind: "choose", what, name: select.value }) });
    return [select, make("div", { class: "pickone" }, make("label", { for: `rk-${what}` }, words), select)];
  };
  const [record, recordBox] = pick("record", "Rain record");
  const [table, tableBox] = pick("table", "Official table beside it");
  const [neighbour, neighbourBox] = pick("neighbour", "Record of a gauge near by");
  const units = ["us", "metric"].map((system) => make("button", { type: "button", class: "toggle",
    "aria-pressed": "false", "data-units": system, onclick: () => tell(model, { kind: "units", system }) },
    system === "us" ? "US units" : "metric"));
  const words = make("p", { role: "status" });
  const bar = make("progress", { "aria-label": "Work done" });
  const stop = make("button", { type: "button", onclick: () => tell(model, { kind: "stop" }) }, "Stop");
  const seasons = make("button", { type: "button", onclick: () => tell(model, { kind: "seasons" }) }, "Generate seasons like these");
  const busy = make("div", { class: "tools busy" }, bar, stop);
  const wrong = make("p", { class: "error", role: "alert" });
  const folder = make("p", { class: "help" });
  el.append(make("header", { class: "rk rk-top" }, make("div", { class: "row" },
    make("div", { class: "who" }, make("p", { class: "page" }, wayBack(), "Storm seasons"), make("h1", {}, "One rain record")),
    make("div", { class: "pair", role: "group", "aria-label": "Units" }, units))),
    make("section", { class: "rk rk-record", "aria-label": "Choose a record" },
      make("div", { class: "tools" }, recordBox, tableBox, neighbourBox, seasons), folder, words, busy, wrong));

  function fill(select, names, none, chosen) {
    const key = names.join();
    if (select.dataset.names !== key) {
      select.dataset.names = key;
      select.replaceChildren(make("option", { value: "" }, none), ...names.map((name) => make("option", { value: name }, name)));
    }
    select.value = chosen;
  }

  function show() {
    const view = model.get("view");
    fill(record, view.names, "choose a record", view.record);
    fill(table, view.tables, "none", view.table);
    fill(neighbour, view.names, "none", view.neighbour);
    for (const unit of units) unit.setAttribute("aria-pressed", unit.dataset.units === view.system);
    busy.hidden = !view.busy;
    seasons.hidden = !view.seasons;
    if (view.step === null) bar.removeAttribute("value"); // nobody knows how long
    else { bar.max = view.steps; bar.value = view.step; }
    write(words, view.busy ? `${sentenceCase(view.busy)} …` : "");
    write(wrong, view.trouble);
    write(folder, `Files in ${view.folder}`);
  }

  const end = follow(model, ["view"], show);
  tell(model, { kind: "hello" });
  return end;
}

export default { render };
