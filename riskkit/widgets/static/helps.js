// What would help a home, the best first, with what each would gain if it were done.

function render({ model, el }) {
  const title = make("h2", {}), state = make("p", { class: "help", role: "status" });
  const list = make("ol", {}), alike = make("p", {}), useless = make("p", { class: "help" }), basis = make("p", { class: "help" });
  const root = make("section", { class: "rk rk-helps", tabindex: "0", "aria-label": "What would help" }, title, state, list, alike, useless, basis);
  el.append(root);
  let before = "";

  function show() {
    const view = model.get("view");
    root.hidden = !view.title;
    write(title, view.title);
    write(state, view.state);
    write(alike, view.alike);
    write(useless, view.useless);
    write(basis, view.basis);
    const now = JSON.stringify(view.items);
    if (now === before) return;
    before = now;
    list.replaceChildren(...view.items.map(({ words, cells }) => make("li", {}, make("b", {}, words),
      cells.map(([name, gain]) => make("span", {}, make("small", {}, `${name}: `), gain.replaceAll(" %", "\u00a0%"))))));
  }

  return follow(model, ["view"], show);
}

export default { render };
