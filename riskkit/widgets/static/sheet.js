// Blocks of text and tables, one under the other.

function render({ model, el }) {
  const root = make("section", { class: "rk rk-sheet" });
  el.append(root);
  let shown = [];

  const KINDS = {
    heading: (block) => make("h2", {}, block.text),
    text: (block) => make("p", { class: block.class }, block.text),
    list: (block) => make("ul", {}, block.items.map((item) => make("li", {}, item))),
    table: (block) => make("div", { class: "wide", tabindex: "0", role: "region", "aria-label": block.title },
      make("table", {}, make("caption", {}, block.title),
        make("thead", {}, make("tr", {}, block.head.map((cell) => make("th", { scope: "col" }, cell)))),
        make("tbody", {}, block.rows.map((row) => make("tr", { "data-mark": block.marks?.[row[0]] },
          make("th", { scope: "row" }, row[0]), row.slice(1).map((cell) => make("td", {}, cell))))))),
    bars: (block) => make("div", { class: "bars", role: "img", "aria-label": block.words },
      block.rows.map(([name, share, words]) => make("div", { class: "bar" }, make("span", { class: "name" }, name),
        make("span", { class: "track" }, make("span", { class: "fill", style: `width:${100 * share}%` })), make("span", { class: "value" }, words)))),
    picture: (block) => make("figure", {},
      make("img", { src: `data:image/svg+xml;charset=utf-8,${encodeURIComponent(block.svg)}`, alt: block.words }),
      make("figcaption", { class: "small" }, block.words)),
    cautions: (block) => make("aside", { class: "cautions", "aria-label": "Cautions" }, make("h2", {}, "Cautions"),
      make("ul", {}, block.items.map((item) => make("li", {}, item)))),
    more: (block) => make("details", { class: "more" }, make("summary", {}, block.title),
      make("div", { class: "body" }, block.blocks.map((inner) => KINDS[inner.kind](inner)))),
  };

  function show() {
    const blocks = model.get("blocks");
    root.setAttribute("aria-label", model.get("title"));
    blocks.forEach((block, i) => {
      const text = JSON.stringify(block);
      if (shown[i] === text) return;
      const old = root.children[i], made = KINDS[block.kind](block);
      if (old?.open) made.open = true;
      if (old) old.replaceWith(made); else root.append(made);
      shown[i] = text;
    });
    while (root.children.length > blocks.length) root.lastChild.remove();
    shown.length = blocks.length;
  }

  return follow(model, ["blocks", "title"], show);
}

export default { render };
