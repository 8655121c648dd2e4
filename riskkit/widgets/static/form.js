// The form of one home: steps, groups that open, fields that keep what is typed.

const PAUSE_MS = 20; // after a key before the text is sent
const REST_MS = 2000; // after a key before a text that is not right is said to be wrong

// What was typed and is neither taken in nor saved yet stays with the browser until it is, so that it
// outlives a page that is loaded again; where somebody else changed the field meanwhile, it is dropped.
const drafts = {
  at: (place) => `rk-typed:${place}`,
  all(place) { try { return JSON.parse(localStorage.getItem(this.at(place)) ?? "{}"); } catch { return {}; } },
  put(place, found) { try { localStorage.setItem(this.at(place), JSON.stringify(found)); } catch { /* a browser that keeps nothing */ } },
  keep(place, key, text, over) {
    if (!place) return;
    const found = this.all(place);
    this.put(place, { ...found, [key]: { text, over: found[key]?.over ?? over } });
  },
  drop(place, key) {
    const { [key]: gone, ...rest } = this.all(place);
    if (gone) this.put(place, rest);
  },
  waiting(place, values, asked) { // what was asked and not yet answered is neither dropped nor sent anew
    if (!place) return [];
    const found = Object.entries(this.all(place)).filter(([key]) => values[key] && !asked(key));
    for (const [key, { over }] of found) if (values[key].text !== over && !values[key].error && !values[key].waits) this.drop(place, key);
    return found.filter(([key, { text, over }]) => values[key].text === over && text !== over).map(([key, { text }]) => [key, text]);
  },
};

function render({ model, el }) {
  const root = make("section", { class: "rk rk-form", "aria-label": model.get("title") });
  const fields = new Map();
  el.append(root);

  // What a person chose stands until the values that answer it are here: those of a change before
  // would take it back for a moment.
  const sent = new Map(), typedOnly = new Set(); // the latter: what was not left, nor rested on
  let turn = model.get("heard"), step = 1;
  let next = null; // what was typed last while a change was on its way: only that goes after it
  function send(key, text, more) {
    if (next?.[0] === key) next = null;
    sent.set(key, ++turn);
    typedOnly[more.typing && !more.rests ? "add" : "delete"](key);
    drafts.keep(model.get("place"), key, text, model.get("values")[key]?.text ?? "");
    tell(model, { kind: "change", key, text, turn, ...more });
    root.dataset.waiting = "yes";
  }
  const sendTyped = (key, text, more) => (turn > model.get("heard") ? next = [key, text, more] : send(key, text, more));

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
      drafts.keep(model.get("place"), field.key, input.value, model.get("values")[field.key]?.text ?? "");
      timer = setTimeout(() => { timer = 0; sendTyped(field.key, input.value, { typing: true, ...basis() }); }, PAUSE_MS);
      rest = setTimeout(() => send(field.key, input.value, { typing: true, rests: true, ...basis() }), REST_MS);
    });
    input.addEventListener("change", () => {
      clearTimeout(timer);
      clearTimeout(rest); // Enter does not leave the field
      timer = 0;
      committed = true;
      send(field.key, input.value, basis());
    });
    input.addEventListener("blur", () => clearTimeout(rest)); // where nothing is new in the end
    const watch = field.stopwatch && stopwatch(field.label, input);
    const day = field.day && dayPicker(field.label, input);
    const last = make("p", { class: "last" });
    const node = make("div", { class: "field", "data-field": field.key }, drawn(field.key),
      make("label", { for: id }, sentenceCase(field.short ?? field.label), field.unit && make("span", { class: "unit" }, ` [${field.unit}]`)),
      make("div", { class: "line" }, input, watch || null, day || null, measured || null, none || null, unknown || null), last, help);
    const fault = faultOf(id, node, input);
    function show(value) {
      if (!timer && (input !== document.activeElement || committed) && input.value !== value.text) input.value = value.text;
      node.classList.toggle("is-unknown", !value.known && field.unknown);
      measured && measured.setAttribute("aria-pressed", Boolean(value.measured));
      unknown && unknown.setAttribute("aria-pressed", !value.known);
      none && none.setAttribute("aria-pressed", Boolean(value.absent));
      write(help, value.taken ? sentenceCase(value.taken) + "." : field.help);
      help.classList.toggle("urgent", Boolean(value.urgent));
      write(last, value.last ?? "");
      fault(value);
    }
    return { node, show };
  }

  // Press to start, press to stop: the seconds go into the field.
  function stopwatch(label, input) {
    let begun = 0, tick = 0;
    const button = make("button", { type: "button", class: "toggle watch", "aria-pressed": "false", "aria-label": `Stopwatch: ${label}`, onclick: () => {
      if (!begun) {
        begun = performance.now();
        tick = setInterval(() => write(button, `Stop ${((performance.now() - begun) / 1000).toFixed(0)} s`), 200);
        write(button, "Stop 0 s");
      } else {
        clearInterval(tick);
        input.value = `${((performance.now() - begun) / 1000).toFixed(1)} s`;
        begun = 0;
        write(button, "Start");
        input.dispatchEvent(new Event("change"));
      }
      button.setAttribute("aria-pressed", String(Boolean(begun)));
    } }, "Start");
    return button;
  }

  // The calendar of the browser beside a field that also takes a day as people write it.
  function dayPicker(label, input) {
    const days = make("input", { type: "date", class: "days", tabindex: "-1", "aria-hidden": "true", onchange: () => {
      input.value = days.value;
      input.dispatchEvent(new Event("change"));
    } });
    return make("span", { class: "day" }, days, make("button", { type: "button", class: "toggle", "aria-label": `Choose a day: ${label}`,
      onclick: () => days.showPicker() }, "choose"));
  }

  // Things that are counted: a number each, with steps of one.
  function countsField(field) {
    const id = `rk-${field.key.replaceAll(".", "-")}`;
    const all = () => inputs.map((input) => input.value.trim()).join(", ");
    const text = () => (inputs.some((input) => input.value.trim()) ? all() : "");
    let timer = 0;
    const inputs = field.parts.map((part, i) => make("input", { id: `${id}-${i}`, type: "text", inputmode: "numeric", autocomplete: "off",
      "data-key": field.key, "aria-label": `${sentenceCase(field.label)}: ${part}`, "aria-describedby": `${id}-error`,
      oninput: () => { clearTimeout(timer); timer = setTimeout(() => sendTyped(field.key, text(), { typing: true }), PAUSE_MS); },
      onkeydown: (event) => {
        if (event.key !== "ArrowUp" && event.key !== "ArrowDown") return;
        event.preventDefault();
        by(i, event.key === "ArrowUp" ? 1 : -1);
      },
      onchange: () => { clearTimeout(timer); send(field.key, text(), {}); } }));
    const by = (i, more) => { inputs[i].value = Math.max(0, (parseInt(inputs[i].value, 10) || 0) + more); send(field.key, text(), {}); };
    const unknown = make("button", { type: "button", class: "toggle unknown", "aria-label": `Don't know: ${field.label}`,
      onclick: () => { for (const input of inputs) input.value = ""; send(field.key, "", {}); } }, "don't know");
    const rows = field.parts.map((part, i) => make("div", { class: "counted" },
      make("button", { type: "button", tabindex: "-1", "aria-label": `One less: ${part}`, onclick: () => by(i, -1) }, "−"), inputs[i],
      make("button", { type: "button", tabindex: "-1", "aria-label": `One more: ${part}`, onclick: () => by(i, 1) }, "+"), make("span", {}, part), i === 0 ? unknown : null));
    const node = make("fieldset", { class: "field", "data-field": field.key }, make("legend", {}, drawn(field.key), sentenceCase(field.label)),
      make("div", { class: "counts" }, rows));
    const help = make("p", { class: "help" });
    node.append(help);
    const fault = faultOf(id, node, inputs[0]);
    function show(value) {
      write(help, value.taken ? `${sentenceCase(value.taken)}.` : "");
      const parts = value.text ? value.text.split(",") : [];
      // who goes from one number to the next is not done: what was counted first must not go meanwhile
      if (!node.contains(document.activeElement)) inputs.forEach((input, i) => { input.value = (parts[i] ?? "").trim(); });
      node.classList.toggle("is-unknown", !value.known);
      unknown.setAttribute("aria-pressed", String(!value.known));
      fault(value);
    }
    return { node, show };
  }

  // Soil by feel in two questions: how long a ribbon holds, and how it feels when it is rubbed wet.
  function feelField(field) {
    const name = `rk-${field.key.replaceAll(".", "-")}`;
    const LENGTHS = [["", "don't know"], ["no ball", "falls apart"], ["ball but no ribbon", "ball, no ribbon"], ["short", "short"], ["medium", "medium"], ["long", "long"]];
    const RUBS = [["", "not rubbed"], ["gritty", "gritty"], ["mixed", "neither"], ["smooth", "smooth"]];
    const row = (part, list) => list.map(([option, words]) => [option, make("input", { type: "radio", name: `${name}-${part}`, value: option, "data-key": field.key,
      onchange: () => send(field.key, text(), {}) }), words]);
    const lengths = row("length", LENGTHS), rubs = row("rub", RUBS);
    const chosen = (list) => list.find(([, input]) => input.checked)?.[0] ?? "";
    const text = () => {
      const long = chosen(lengths), rub = chosen(rubs);
      return ["short", "medium", "long"].includes(long) ? [long, rub, "ribbon"].filter(Boolean).join(" ") : long;
    };
    const tile = ([option, input, words]) => make("label", { class: option ? "pick tile" : "pick tile unknown" }, input, drawn(`ribbon=${option}`), make("span", {}, words));
    const plain = ([, input, words]) => make("label", { class: "pick" }, input, make("span", {}, words));
    const rubbed = make("div", { class: "picks chips", role: "group", "aria-label": "Rubbed very wet, it feels" }, make("span", { class: "ask" }, "Rubbed very wet, it feels"), rubs.map(plain));
    const help = make("p", { class: "help" });
    const node = make("fieldset", { class: "field", "data-field": field.key }, make("legend", {}, sentenceCase(field.label)),
      make("div", { class: "picks tiles" }, lengths.map(tile)), rubbed, help);
    const fault = faultOf(name, node, node);
    function show(value) {
      const found = /^(short|medium|long)(?: (gritty|mixed|smooth))? ribbon$/.exec(value.text);
      for (const [option, input] of lengths) input.checked = option === (found ? found[1] : value.text);
      for (const [option, input] of rubs) input.checked = option === (found?.[2] ?? "");
      rubbed.hidden = !found;
      write(help, field.options.find(([option]) => option === value.text)?.[1] ?? "Wet a spoonful, squeeze a ball, press a ribbon between thumb and finger.");
      node.classList.toggle("is-unknown", !value.known);
      fault(value);
    }
    return { node, show };
  }

  // A press that answers many fields at once; the group that holds them opens, to be looked over.
  function actField(field) {
    const press = () => {
      tell(model, { kind: "act", key: field.key });
      const next = node.closest("details").nextElementSibling;
      if (next) next.open = true;
    };
    const node = make("div", { class: "field act", "data-field": field.key },
      make("button", { type: "button", class: "main", onclick: press }, field.label),
      make("p", { class: "help" }, field.help));
    return { node, show: () => {} };
  }

  // A town by its first letters, from a list on this machine; or degrees.
  function placeField(field) {
    const built = valueField({ ...field, unknown: true });
    const input = built.node.querySelector("input");
    const towns = make("div", { class: "towns", role: "group", "aria-label": "Matching towns" });
    built.node.querySelector(".line").after(towns);
    const letters = () => /[a-z]{3}/i.test(input.value);
    const choose = (town) => { towns.replaceChildren(); input.value = town.text; send(field.key, town.text, { name: town.name }); };
    input.addEventListener("input", (event) => {
      if (!letters()) return towns.replaceChildren();
      event.stopImmediatePropagation(); // a name is looked for, not yet entered
      tell(model, { kind: "towns", text: input.value });
    }, true);
    input.addEventListener("change", (event) => { if (letters() && towns.childElementCount) event.stopImmediatePropagation(); }, true);
    input.addEventListener("keydown", (event) => { if (event.key === "Enter") towns.querySelector("button")?.click(); });
    model.on("change:towns", () => {
      if (document.activeElement !== input) return;
      towns.replaceChildren(...model.get("towns").map((town) => make("button", { type: "button", onmousedown: (event) => event.preventDefault(),
        onclick: () => choose(town) }, town.name)));
    });
    return built;
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
      drafts.keep(model.get("place"), field.key, area.value, model.get("values")[field.key]?.text ?? "");
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
    const node = make("div", { class: "field", "data-field": field.key }, drawn(field.key),
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
    const tiled = field.options.some(([option]) => SKETCHES[`${field.key}=${option}`]);
    const none = ["", field.none ?? "don't know"];
    const radios = (tiled ? [...field.options, none] : [none, ...field.options]).map(([option, words]) => {
      const input = make("input", { type: "radio", name, value: option, "data-key": field.key,
        onchange: () => send(field.key, option, {}) });
      const more = words !== option && option ? make("small", {}, words) : null;
      return [input, make("label", { class: `pick${tiled ? " tile" : ""}${option ? "" : " unknown"}`, "data-option": option }, input, drawn(`${field.key}=${option}`), make("span", {}, option || words, more))];
    });
    const node = make("fieldset", { class: "field", "data-field": field.key, "aria-label": field.short && sentenceCase(field.label) },
      make("legend", {}, drawn(field.key), sentenceCase(field.short ?? field.label)), make("div", { class: tiled ? "picks tiles" : field.chips ? "picks chips" : field.across ? "picks across" : "picks" }, radios.map(([, label]) => label)));
    const last = make("p", { class: "last" });
    node.append(last);
    const help = make("p", { class: "help" });
    node.append(help);
    const fault = faultOf(name, node, node);
    function show(value) {
      for (const [input] of radios) input.checked = input.value === value.text;
      node.classList.toggle("is-unknown", !value.known);
      write(help, value.taken ? sentenceCase(value.taken) + "." : "");
      help.hidden = !value.taken;
      write(last, value.last ?? "");
      fault(value);
    }
    return { node, show };
  }

  const KINDS = { value: valueField, text: valueField, note: noteField, select: selectField, choice: choiceField, counts: countsField, feel: feelField, place: placeField, act: actField };

  // What is wrong with a value must be seen on its group too, open or closed.
  function summary(words, named) {
    return make("summary", {}, make("span", named ? { class: "title" } : {}, words), make("span", { class: "wrong" }),
      named ? make("span", { class: "count" }) : null);
  }

  // What can hurt at this work stands where it is entered, before the work: of a group, or of one field.
  function cautions(found, about) {
    if (!found?.length) return null;
    return make("aside", { class: "cautions", "aria-label": `Take care: ${about}` },
      make("ul", {}, found.map((words) => make("li", {}, words))));
  }
  function withCare(built, field) {
    const aside = cautions(field.cautions, field.label);
    if (aside) built.node.firstElementChild.after(aside); // below its name
    return built;
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
    turnTo(Number(node.closest("[data-step]")?.dataset.step ?? step));
    for (let group = node.closest("details"); group; group = group.parentElement.closest("details")) group.open = true;
    node.querySelector("input:checked, input, select, textarea").focus({ preventScroll: true });
    node.scrollIntoView({ block: "center" });
  }

  // First what everybody sees, then what has to be measured: one of both is shown.
  function stepBar() {
    const names = model.get("steps");
    if (!names.length) return [];
    return [make("div", { class: "pair steps", role: "group", "aria-label": "Steps of the form" }, names.map((words, i) =>
      make("button", { type: "button", class: "toggle", "data-to": i + 1, "aria-pressed": "false", onclick: () => turnTo(i + 1) }, words)))];
  }

  function turnTo(wanted) {
    step = wanted;
    for (const button of root.querySelectorAll(".steps > button")) button.setAttribute("aria-pressed", String(Number(button.dataset.to) === step));
    for (const group of root.querySelectorAll(":scope > details[data-step]")) group.hidden = Number(group.dataset.step) !== step;
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
        const built = old?.text === text ? old : { ...withCare(KINDS[field.kind](field), field), text };
        built.node.classList.toggle("under", Boolean(field.under));
        fields.set(field.key, built);
        return built.node;
      });
      const seldom = made(group.seldom);
      const seen = group.step === 1, isOpen = first ? model.get("first_open") && (seen || i === 0) : open.has(id);
      return make("details", { "data-group": id, "data-step": group.step, name: seen ? null : `rk-groups-${model.get("title")}`, open: isOpen },
        summary(group.title, true),
        make("div", { class: "body" }, cautions(group.cautions, group.title), made(group.fields),
          seldom.length ? make("details", { class: "seldom", "data-group": `${id}, more`, open: open.has(`${id}, more`) },
            summary(group.more ?? "More, seldom known", false), make("div", { class: "body" }, seldom)) : null));
    });
    root.replaceChildren(...stepBar(), ...groups);
    turnTo(step);
    if (active?.isConnected) active.focus({ preventScroll: true });
    show();
  }

  // What is typed and not right yet is passed over in silence: it is neither taken in nor refused.
  const isHalf = (key, value) => typedOnly.has(key) && value.text === drafts.all(model.get("place"))[key]?.over;

  function show() {
    const values = model.get("values"), asked = (key) => sent.get(key) > model.get("heard");
    for (const [key, field] of fields) {
      if (!values[key] || asked(key)) continue;
      field.show(values[key]);
      field.node.hidden = Boolean(values[key].hidden);
      if (sent.has(key) && !values[key].error && !values[key].waits && !isHalf(key, values[key])) drafts.drop(model.get("place"), key);
    }
    for (const [key, text] of drafts.waiting(model.get("place"), values, asked)) if (fields.has(key) && !sent.has(key)) send(key, text, {});
    if (next && turn <= model.get("heard")) send(...next);
    root.dataset.waiting = turn > model.get("heard") ? "yes" : "no";
    countWrong();
    for (const { title, known, of, words, bad } of model.get("counts")) {
      const node = root.querySelector(`details[data-group="${title}"] > summary > .count`);
      if (node) {
        write(node, words ?? `${known} of ${of} known`);
        node.classList.toggle("few", known * 2 < of);
        node.classList.toggle("bad", Boolean(bad));
      }
    }
  }

  let due = false; // once for what comes together
  const soon = () => { if (!due) due = true, queueMicrotask(() => { due = false; show(); }); };
  model.on("change:groups", build);
  model.on("change:values", soon);
  model.on("change:heard", soon);
  document.addEventListener("rk-go-to", goTo);
  build();
  return () => { document.removeEventListener("rk-go-to", goTo); model.off("change:groups", build); model.off("change:values", soon); model.off("change:heard", soon); };
}

export default { render };
