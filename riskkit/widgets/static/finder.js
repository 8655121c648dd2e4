// Public rain near the home: look, choose, fetch. Nothing is asked before somebody presses.

function render({ model, el }) {
  const within = make("select", { id: "rk-within" });
  const look = make("button", { type: "button", class: "main", onclick: () =>
    tell(model, { kind: "look", within_km: Number(within.value) }) }, "Look for public records");
  const need = make("p", { class: "help" });
  const status = make("p", { role: "status" });
  const stop = make("button", { type: "button", onclick: () => tell(model, { kind: "stop" }) }, "Stop");
  const wrong = make("p", { class: "error", role: "alert" });
  const remarks = make("ul", { class: "small" });
  const list = make("ul", { class: "cards" });
  const root = make("details", { class: "rk rk-finder" },
    make("summary", {}, make("span", { class: "title" }, "Find rain near the home")),
    make("p", { class: "help" }, "Asks public archives over the network when you press, and sends them the latitude and longitude alone."),
    make("div", { class: "tools" }, make("div", { class: "pickone" }, make("label", { for: "rk-within" }, "Within"), within), look, stop),
    need, status, wrong, remarks, list);
  el.append(root);
  let offered = "", rows = "";

  function show() {
    const view = model.get("view");
    root.hidden = !view.shown;
    const distances = JSON.stringify(view.within);
    if (offered !== distances) {
      offered = distances;
      within.replaceChildren(...view.within.map(([km, words]) => make("option", { value: String(km) }, words)));
    }
    within.value = String(view.within_km);
    look.disabled = !view.place || view.busy !== "";
    stop.hidden = view.busy === "";
    write(need, view.place ? "" : "Write latitude and longitude of the home first: under Place and rain, seldom known.");
    write(status, view.busy ? `${sentenceCase(view.busy)} …` : view.done
      || (view.rows && !view.rows.length ? "No public record within this distance; search farther." : ""));
    write(wrong, view.trouble);
    remarks.replaceChildren(...view.remarks.map((words) => make("li", {}, words)));
    const key = JSON.stringify([view.rows, view.file, view.record, view.busy !== ""]);
    if (rows === key) return;
    rows = key;
    list.replaceChildren(...(view.rows ?? []).map((row) => make("li", {},
      make("button", { type: "button", "data-key": row.key, disabled: !view.file || view.busy !== "",
        onclick: () => tell(model, { kind: "fetch", key: row.key }) },
        make("strong", {}, row.name), make("small", {}, row.more), row.remark ? make("small", {}, row.remark) : null,
        make("small", { class: "do" }, view.file ? "Fetch and use" : "Save the home as a file first")))));
  }

  function hear(message) {
    if (message.kind !== "open") return;
    root.open = true;
    root.scrollIntoView({ block: "start" });
    root.firstChild.focus();
  }

  model.on("msg:custom", hear);
  const halt = follow(model, ["view"], show);
  return () => { model.off("msg:custom", hear); halt(); };
}

export default { render };
