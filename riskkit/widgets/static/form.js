// The form of one home: groups that open, fields that keep what is typed.

const PAUSE_MS = 40; // after a key before the text is sent
const REST_MS = 2000; // after a key before a text that is not right is said to be wrong

function render({ model, el }) {
  const root = make("section", { class: "rk rk-form", "aria-label": model.get("title") });
  const fields = new Map();
  el.append(root);

  // What a person chose stands until the values that answer it are here: those of a change before
  // would take it back for a moment.
  const sent = new Map();
  let turn = model.get("heard");
  function send(key, text, more) {
    sent.set(key, ++turn);
    tell(model, { kind: "change", key, text, turn, ...more });
  }

  function valueField(field) {
    const id = `rk-${field.key.replaceAll(".", "-")}`;
    const input = make("input", {
      id, type: "text", autocomplete: "off", spellcheck: "false", "data-key": field.key,
      "aria-describedby": `${id}-help ${id}-error`, "aria-label": field.short && sentenceCase(field.label),
    });
    const help = make("p", { id: `${id}-help`, class: "help" });
    const measured = field.basis && make("button", {
      type: "button", class: "toggle", "aria-pressed": "false",
      "aria-label": `Measured: ${field.label}`,
      onclick: () => send(field.key, input.value, { measured: measured.getAttribute("aria-pressed") !== "true" }),
    }, "measured");
    const unknown = field.unknown && make("button", {
      type: "button", class: "toggle unknown", "aria-pressed": "true",
      "aria-label": `Don't know: ${field.label}`,
      onclick: () => { committed = true; send(field.key, "", {}); },
    }, "don't know");
    const none = field.absent && make("button", {
      type: "button", class: "toggle absent", "aria-pressed": "false",
      onclick: () => { committed = true; send(field.key, field.absent, {}); },
    }, field.absent);
    let timer = 0, rest = 0, committed = true;
    const basis = () => (measured ? { measured: measured.getAttribute("aria-pressed") === "true" } : {});
    input.addEventListener("input", () => {
      committed = false;
      clearTimeout(timer);
      clearTimeout(rest);
      timer = setTimeout(() => send(field.key, input.value, { typing: true, ...basis() }), PAUSE_MS);
      rest = setTimeout(() => send(field.key, input.value, { typing: true, rests: true, ...basis() }), REST_MS);
    });
    input.addEventListener("change", () => {
      clearTimeout(timer);
      clearTimeout(rest); // Enter does not leave the field
      committed = true;
      send(field.key, input.value, basis());
    });
    input.addEventListener("blur", () => clearTimeout(rest)); // where nothing is new in the end
    const node = make("div", { class: "field", "data-field": field.key },
      make("label", { for: id }, sentenceCase(field.short ?? field.label), field.unit && make("span", { class: "unit" }, ` [${field.unit}]`)),
      make("div", { class: "line" }, input, measured || null, none || null, unknown || null), help);
    const fault = faultOf(id, node, input);
    function show(value) {
      if ((input !== document.activeElement || committed) && input.value !== value.text) input.value = value.text;
      node.classList.toggle("is-unknown", !value.known && field.unknown);
      input.placeholder = value.known || !field.unknown ? "" : "don't know";
      measured && measured.setAttribute("aria-pressed", Boolean(value.measured));
      unknown && unknown.setAttribute("aria-pressed", !value.known);
      none && none.setAttribute("aria-pressed", Boolean(value.absent));
      write(help, value.taken ? sentenceCase(value.taken) + "." : field.help);
      help.classList.toggle("urgent", Boolean(value.urgent));
      fault(value);
    }
    return { node, show };
  }

  // What is wrong with a field, below it, and a mark on the field itself.
  function faultOf(id, node, input) {
    const error = make("p", { id: `${id}-error`, class: "error", role: "alert" });
    node.append(error);
    return (value) => {
      node.classList.toggle("is-wrong", value.error !== "");
      input.setAttribute("aria-invalid", value.error !== "");
      write(error, value.error ? sentenceCase(value.error) : "");
    };
  }

  function noteField(field) {
    const id = `rk-${field.key}`;
    const area = make("textarea", { id, rows: "2", "data-key": field.key, "aria-describedby": `${id}-error` });
    let rest = 0;
    area.addEventListener("input", () => {
      clearTimeout(rest);
      rest = setTimeout(() => send(field.key, area.value, { typing: true, rests: true }), REST_MS);
    });
    area.addEventListener("blur", () => clearTimeout(rest));
    area.addEventListener("change", () => send(field.key, area.value, {}));
    const node = make("div", { class: "field", "data-field": field.key },
      make("label", { for: id }, sentenceCase(field.label)), area);
    const fault = faultOf(id, node, area);
    return { node, show: (value) => { if (area !== document.activeElement) area.value = value.text; fault(value); } };
  }

  function selectField(field) {
    const id = `rk-${field.key.replaceAll(".", "-")}`;
    const none = field.none ?? "don't know";
    const select = make("select", { id, "data-key": field.key, "aria-describedby": `${id}-error`,
      onchange: () => send(field.key, select.value, {}) });
    const node = make("div", { class: "field", "data-field": field.key },
      make("label", { for: id }, sentenceCase(field.label)), select);
    const fault = faultOf(id, node, select);
    function show(value) {
      const options = [["", none], ...(value.options ?? field.options)];
      if (value.text && !options.some(([name]) => name === value.text)) options.push([value.text, value.text]);
      if (select.options.length !== options.length || options.some(([name], i) => select.options[i].value !== name))
        select.replaceChildren(...options.map(([name, words]) => make("option", { value: name }, words)));
      select.value = value.text;
      node.classList.toggle("is-unknown", !value.known);
      fault(value);
    }
    return { node, show };
  }

  function choiceField(field) {
    const name = `rk-${field.key.replaceAll(".", "-")}`;
    const radios = [["", field.none ?? "don't know"], ...field.options].map(([option, words]) => {
      const input = make("input", { type: "radio", name, value: option, "data-key": field.key,
        onchange: () => send(field.key, option, {}) });
      const more = words !== option && option ? make("small", {}, words) : null;
      return [input, make("label", { class: option ? "pick" : "pick unknown", "data-option": option }, input, make("span", {}, option || words, more))];
    });
    const node = make("fieldset", { class: "field", "data-field": field.key, "aria-label": field.short && sentenceCase(field.label) },
      make("legend", {}, sentenceCase(field.short ?? field.label)), make("div", { class: field.across ? "picks across" : "picks" }, radios.map(([, label]) => label)));
    const help = make("p", { class: "help" });
    node.append(help);
    const fault = faultOf(name, node, node);
    function show(value) {
      for (const [input] of radios) input.checked = input.value === value.text;
      node.classList.toggle("is-unknown", !value.known);
      write(help, value.taken ? sentenceCase(value.taken) + "." : "");
      help.hidden = !value.taken;
      fault(value);
    }
    return { node, show };
  }

  const KINDS = { value: valueField, text: valueField, note: noteField, select: selectField, choice: choiceField };

  // What is wrong with a value must be seen on its group too, open or closed.
  function summary(words, named) {
    return make("summary", {}, make("span", named ? { class: "title" } : {}, words), make("span", { class: "wrong" }),
      named ? make("span", { class: "count" }) : null);
  }

  // What can hurt at this work stands where it is entered, before the work.
  function cautions(group) {
    if (!group.cautions?.length) return null;
    return make("aside", { class: "cautions", "aria-label": `Take care: ${group.title}` },
      make("ul", {}, group.cautions.map((words) => make("li", {}, words))));
  }

  function countWrong() {
    for (const group of root.querySelectorAll("details")) {
      const number = group.querySelectorAll(".field.is-wrong").length;
      write(group.querySelector("summary > .wrong"), number ? `${number} value${number > 1 ? "s" : ""} not accepted` : "");
    }
  }

  // Open whatever a field stands in, and go there.
  function goTo(event) {
    const node = fields.get(event.detail)?.node;
    if (!node) return;
    for (let group = node.closest("details"); group; group = group.parentElement.closest("details")) group.open = true;
    node.querySelector("input:checked, input, select, textarea").focus({ preventScroll: true });
    node.scrollIntoView({ block: "center" });
  }

  function build() {
    const open = new Set([...root.querySelectorAll("details[open]")].map((node) => node.dataset.group));
    const first = fields.size === 0;
    // a field that is as it was goes on, with what is being typed into it
    const before = new Map(fields), active = root.contains(document.activeElement) && document.activeElement;
    fields.clear();
    const groups = model.get("groups").map((group, i) => {
      const id = group.id ?? group.title;
      const made = (list) => list.map((field) => {
        const text = JSON.stringify(field), old = before.get(field.key);
        const built = old?.text === text ? old : { ...KINDS[field.kind](field), text };
        built.node.classList.toggle("under", Boolean(field.under));
        fields.set(field.key, built);
        return built.node;
      });
      const seldom = made(group.seldom);
      return make("details", { "data-group": id, name: `rk-groups-${model.get("title")}`, open: first ? i === 0 && model.get("first_open") : open.has(id) },
        summary(group.title, true),
        make("div", { class: "body" }, cautions(group), made(group.fields),
          seldom.length ? make("details", { class: "seldom", "data-group": `${id}, more`, open: open.has(`${id}, more`) },
            summary(group.more ?? "More, seldom known", false), make("div", { class: "body" }, seldom)) : null));
    });
    root.replaceChildren(...groups);
    if (active?.isConnected) active.focus({ preventScroll: true });
    show();
  }

  function show() {
    const values = model.get("values");
    for (const [key, field] of fields) {
      if (!values[key] || sent.get(key) > model.get("heard")) continue;
      field.show(values[key]);
      field.node.hidden = Boolean(values[key].hidden);
    }
    countWrong();
    for (const { title, known, of } of model.get("counts")) {
      const node = root.querySelector(`details[data-group="${title}"] > summary > .count`);
      if (node) {
        write(node, `${known} of ${of} known`);
        node.classList.toggle("few", known * 2 < of);
      }
    }
  }

  model.on("change:groups", build);
  model.on("change:values", show);
  model.on("change:heard", show);
  document.addEventListener("rk-go-to", goTo);
  build();
  return () => { document.removeEventListener("rk-go-to", goTo); model.off("change:groups", build); model.off("change:values", show); model.off("change:heard", show); };
}

export default { render };
