// Things to switch on and off, in a box that opens.

function render({ model, el }) {
  const count = make("span", { class: "count" });
  const title = make("span", { class: "title" });
  const list = make("div", { class: "chips" });
  const root = make("details", { class: "rk rk-switches" }, make("summary", {}, title, count), list);
  el.append(root);
  let shown = "";

  function show() {
    const { title: words, items } = model.get("view");
    root.hidden = items.length === 0;
    write(title, words);
    const on = items.filter((item) => item.on).length;
    write(count, on ? `${on} chosen` : "");
    const keys = items.map((item) => item.key + item.words).join();
    if (keys !== shown) {
      shown = keys;
      list.replaceChildren(...items.map((item) => make("button", { type: "button", class: "chip", "data-key": item.key,
        onclick: (event) => tell(model, { kind: "switch", key: item.key,
          on: event.currentTarget.getAttribute("aria-pressed") !== "true" }) }, item.words)));
    }
    items.forEach((item, i) => list.children[i].setAttribute("aria-pressed", String(item.on)));
  }

  return follow(model, ["view"], show);
}

export default { render };
