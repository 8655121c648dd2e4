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

  // One of several parts at a time; arrow keys go from one to the next.
  KINDS.tabs = (block) => {
    const part = (i) => `rk-part-${i}`;
    const panels = block.tabs.map((tab, i) => make("div", { class: "part", role: "tabpanel", id: part(i), tabindex: "0",
      "aria-labelledby": `${part(i)}-tab` }, tab.blocks.map((inner) => KINDS[inner.kind](inner))));
    const tabs = block.tabs.map((tab, i) => make("button", { type: "button", role: "tab", id: `${part(i)}-tab`,
      "aria-controls": part(i), onclick: () => choose(i), onkeydown: (event) => {
        const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
        if (!step) return;
        event.preventDefault();
        const next = (i + step + tabs.length) % tabs.length;
        choose(next);
        tabs[next].focus();
      } }, tab.title));
    const made = make("div", { class: "parts" }, make("div", { class: "tabs", role: "tablist", "aria-label": block.title }, tabs), panels);
    function choose(chosen) {
      made.dataset.chosen = block.tabs[chosen].title;
      tabs.forEach((tab, i) => {
        tab.setAttribute("aria-selected", i === chosen);
        tab.tabIndex = i === chosen ? 0 : -1;
        panels[i].hidden = i !== chosen;
      });
    }
    // what has just come is shown; else what was open stays open
    made.follow = (old) => {
      const titles = block.tabs.map((tab) => tab.title), before = old.titles ?? titles;
      const come = titles.findIndex((title) => !before.includes(title));
      choose(Math.max(0, come < 0 ? titles.indexOf(old.dataset.chosen) : come));
    };
    made.titles = block.tabs.map((tab) => tab.title);
    choose(0);
    return made;
  };

  // A table to sort by a column, to filter by a text, and to save as it is shown. How it was sorted is kept.
  const kept = {};
  KINDS.grid = (block) => {
    const state = (kept[block.title] ??= { by: block.sorted, down: false, text: "" });
    const id = `rk-filter-${block.title.replace(/\W+/g, "-")}`;
    const filter = make("input", { type: "text", id, value: state.text, oninput: () => { state.text = filter.value; fill(); } });
    const count = make("span", { role: "status" });
    const heads = block.head.map((cell, i) => make("button", { type: "button", class: "sort", onclick: () => {
      state.down = state.by === i && !state.down;
      state.by = i;
      fill();
    } }, cell));
    const body = make("tbody", {}), columns = heads.map((head) => make("th", { scope: "col" }, head));
    const save = make("button", { type: "button", onclick: () => {
      const cell = (text) => `"${(/^[=+\-@\t]/.test(text) ? "'" : "") + text.replaceAll('"', '""')}"`;
      const text = [block.head, ...chosen().map((i) => block.rows[i])].map((row) => row.map(cell).join(",")).join("\n");
      make("a", { href: blobLink(`${text}\n`, "text/csv"), download: block.file }).click();
    } }, "Save what is shown (CSV)");
    function chosen() {
      const words = state.text.toLowerCase().split(/\s+/).filter(Boolean);
      const rows = block.rows.map((_, i) => i).filter((i) => words.every((word) => block.rows[i].join(" ").toLowerCase().includes(word)));
      const key = (i) => block.keys[i][state.by];
      rows.sort((a, b) => (key(a) < key(b) ? -1 : key(a) > key(b) ? 1 : a - b));
      return state.down ? rows.reverse() : rows;
    }
    function fill() {
      const rows = chosen();
      body.replaceChildren(...rows.map((i) => make("tr", {}, make("th", { scope: "row" }, block.rows[i][0]),
        block.rows[i].slice(1).map((cell) => make("td", /^\d{4}-\d\d-\d\d$/.test(cell) ? { class: "day" } : {}, cell)))));
      columns.forEach((column, i) => {
        if (i === state.by) column.setAttribute("aria-sort", state.down ? "descending" : "ascending");
        else column.removeAttribute("aria-sort");
      });
      write(count, `${rows.length} of ${block.rows.length} shown`);
    }
    fill();
    return make("div", { class: "grid" },
      make("div", { class: "tools" }, make("label", { for: id }, "Show only homes with"), filter, count, save),
      make("div", { class: "wide", tabindex: "0", role: "region", "aria-label": block.title },
        make("table", {}, make("caption", {}, block.title), make("thead", {}, make("tr", {}, columns)), body)));
  };

  KINDS.files = (block) => make("p", { class: "files" }, "Save: ", block.items.map((item) =>
    make("a", { href: item.base64 ? bytesLink(item.base64, item.type) : blobLink(item.text, item.type), download: item.name },
      item.words)));

  function show() {
    const blocks = model.get("blocks");
    root.setAttribute("aria-label", model.get("title"));
    blocks.forEach((block, i) => {
      const text = JSON.stringify(block);
      if (shown[i] === text) return;
      const old = root.children[i], made = KINDS[block.kind](block);
      if (old?.open) made.open = true;
      if (old?.dataset.chosen && made.follow) made.follow(old);
      if (old) old.replaceWith(made); else root.append(made);
      shown[i] = text;
    });
    while (root.children.length > blocks.length) root.lastChild.remove();
    shown.length = blocks.length;
  }

  return follow(model, ["blocks", "title"], show);
}

export default { render };
