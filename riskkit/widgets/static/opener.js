// Choose a home, begin a new one, or look at an invented one.

function render({ model, el }) {
  const root = make("section", { class: "rk rk-opener", "aria-label": "Homes" });
  el.append(root);
  const wrong = make("p", { class: "error", role: "alert" });
  const input = make("input", { type: "text", id: "rk-new", autocomplete: "off" });
  const form = make("form", { class: "line", onsubmit: (event) => {
    event.preventDefault();
    if (input.value.trim()) tell(model, { kind: "new", name: input.value.trim() });
    else input.focus();
  } }, input, make("button", { type: "submit", class: "main" }, "Begin a new home"));

  function list(items, kind) {
    return make("ul", { class: "cards" }, items.map((item) => make("li", {},
      make("button", { type: "button", onclick: () => tell(model, { kind, path: item.path }) },
        make("strong", {}, item.name), make("small", {}, item.more),
        item.fault ? make("small", { class: "fault" }, item.fault) : null))));
  }

  function show() {
    const view = model.get("view");
    root.hidden = !view.shown;
    write(wrong, view.wrong);
    if (!view.shown) return;
    const typing = document.activeElement === input;
    root.replaceChildren(...[
      make("h2", {}, view.homes.length ? "Open a home" : "No home file here yet"),
      make("p", { class: "help" }, `Home files in ${view.folder}`),
      wrong,
      view.homes.length ? list(view.homes, "open") : null,
      view.others ? make("p", { class: "help others" }, view.others) : null,
      make("h2", {}, "Begin a new home"),
      make("label", { for: "rk-new" }, "Name of the home"), form,
      view.demos.length ? make("h2", {}, "Look at an invented home") : null,
      view.demos.length ? make("p", { class: "help" }, "Made up to try things out; nothing is written until you save it as a new file.") : null,
      view.demos.length ? list(view.demos, "demo") : null,
    ].filter(Boolean));
    if (typing) input.focus(); // the list is new, what is typed stays
  }

  const stop = follow(model, ["view"], show);
  tell(model, { kind: "hello" });
  return stop;
}

export default { render };
