// Choose a home, or a rain record, a table and a neighbour, see how far the work is, stop it; and whether the kernel is there.

function render({ model, el }) {
  const pick = (what, words) => {
    const select = make("select", { id: `rk-${what}`, onchange: () => tell(model, { kind: "choose", what, name: select.value }) });
    return [select, make("div", { class: "pickone" }, make("label", { for: `rk-${what}` }, words), select)];
  };
  const home = make("select", { id: "rk-home", onchange: () => tell(model, { kind: "home", name: home.value }) });
  const homeBox = make("div", { class: "pickone" }, make("label", { for: "rk-home" }, "Home"), home);
  const beside = make("select", { id: "rk-beside", onchange: () => tell(model, { kind: "beside", name: beside.value }) });
  const besideBox = make("div", { class: "pickone" }, make("label", { for: "rk-beside" }, "Compare its years with"), beside);
  const log = make("select", { id: "rk-log", onchange: () => tell(model, { kind: "log", name: log.value }) });
  const logBox = make("div", { class: "pickone" }, make("label", { for: "rk-log" }, "A log of its pump"), log);
  const enter = make("button", { type: "button", onclick: () => tell(model, { kind: "enter" }) }, "Enter it into the home file");
  const [record, recordBox] = pick("record", "Rain record");
  const [table, tableBox] = pick("table", "Official table to compare with");
  const [neighbour, neighbourBox] = pick("neighbour", "Record of a nearby gauge");
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
  const lost = make("div", { class: "trouble", hidden: true }, make("p", { role: "alert" }));
  // a home brings its own rain: the choice of a record alone stands back then
  const rainOnly = make("details", { class: "rainonly" }, make("summary", {}, "A rain record alone"),
    make("div", { class: "tools" }, recordBox, tableBox, neighbourBox));
  el.append(make("header", { class: "rk rk-top" }, make("div", { class: "row" },
    make("div", { class: "who" }, make("p", { class: "page" }, wayBack(), "Storm seasons"), make("h1", {}, "A home through its years")),
    make("div", { class: "pair", role: "group", "aria-label": "Units" }, units)), lost),
    make("section", { class: "rk rk-record", "aria-label": "Choose a home or a record" },
      make("div", { class: "tools" }, homeBox, logBox, besideBox, rainOnly, enter, seasons), folder, words, busy, wrong));

  function fill(select, names, none, chosen, invented) {
    offer(select, [["", none], ...names.map((name) => [name, invented.includes(name) ? `${name} (invented)` : name])], chosen);
  }

  function show() {
    const view = model.get("view");
    offer(home, [["", "none, a rain record alone"], ...view.homes], view.home);
    logBox.hidden = !view.logs.length;
    offer(log, [["", "its years instead"], ...view.logs.map((name) => [name, name])], view.log);
    enter.hidden = !view.enter;
    besideBox.hidden = !view.besides.length;
    offer(beside, [["", "nothing"], ...view.besides], view.beside);
    beside.disabled = Boolean(view.busy);
    if (rainOnly.dataset.home !== view.home) rainOnly.open = !view.home;
    rainOnly.dataset.home = view.home;
    fill(record, view.names, "choose a record", view.record, view.invented);
    fill(table, view.tables, "none", view.table, view.invented);
    fill(neighbour, view.neighbours, "none", view.neighbour, view.invented);
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
  const quiet = heartbeat(model, (now) => {
    lost.hidden = !now;
    write(lost.firstChild, now ? "The computing part of this page does not answer. What is shown stays; what you choose "
      + "now has no effect until it answers. If this stays, load the page again." : "");
  });
  tell(model, { kind: "hello" });
  return () => { quiet(); end(); };
}

export default { render };
