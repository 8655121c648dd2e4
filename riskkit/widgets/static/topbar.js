// The bar on top: which home, whether it is saved, take back, units; and whether the kernel is there.

function render({ model, el }) {
  const button = (words, kind, more = {}) =>
    make("button", { type: "button", onclick: () => tell(model, { kind }), ...more }, words);
  const name = make("h1", {}), page = make("span", {});
  const saved = make("p", { class: "saved", role: "status" });
  const undo = button("Undo", "undo");
  const homes = button("Homes", "homes");
  const keep = button("Save as a new file", "keep");
  const units = ["us", "metric"].map((system) => make("button", {
    type: "button", class: "toggle", "data-units": system, "aria-pressed": "false",
    onclick: () => tell(model, { kind: "units", system }),
  }, system === "us" ? "US units" : "metric"));
  const tools = make("div", { class: "tools" }, undo, make("div", { class: "pair", role: "group", "aria-label": "Units" }, units), homes);
  const alarm = make("p", { role: "alert" });
  const choices = make("div", { class: "tools" });
  const trouble = make("div", { class: "trouble", hidden: true }, alarm, choices);
  const lost = make("div", { class: "trouble", hidden: true }, make("p", { role: "alert" }));
  const root = make("header", { class: "rk rk-top" },
    make("div", { class: "row" }, make("div", { class: "who" }, make("p", { class: "page" }, wayBack(), page), name), saved, keep, tools), trouble, lost);
  el.append(root);
  // the columns below end at the foot of the window, however high this bar is
  const high = new ResizeObserver(() => document.documentElement.style.setProperty("--rk-top", `${root.offsetHeight}px`));
  high.observe(root);

  let isLost = false;
  function show() {
    const view = model.get("view");
    write(page, view.page);
    write(name, view.name);
    write(saved, isLost ? "Not connected: changes are not saved" : view.saved);
    saved.title = saved.textContent;
    saved.dataset.kept = isLost ? "FAILED" : view.kept;
    keep.hidden = view.kept !== "NO_FILE" || !view.opened;
    undo.disabled = !view.can_undo;
    tools.hidden = !view.opened;
    saved.hidden = !view.opened;
    for (const unit of units) unit.setAttribute("aria-pressed", unit.dataset.units === view.system);
    trouble.hidden = view.trouble === "";
    write(alarm, view.trouble);
    choices.replaceChildren(...view.choices.map(([kind, words]) => button(words, kind)));
  }

  const quiet = heartbeat(model, (now) => {
    isLost = now;
    lost.hidden = !now;
    write(lost.firstChild, now ? "The computing part of this page does not answer. What was shown as saved is in the "
      + "home file; what is changed now is not saved until it answers. If this stays, load the page again." : "");
    show();
  });
  const stop = follow(model, ["view"], show);
  return () => { high.disconnect(); quiet(); stop(); };
}

export default { render };
