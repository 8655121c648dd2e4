// What the figure rests on, below the picture: the whole sentence, what would help, and what to make.

function render({ model, el }) {
  const sentence = make("p", { class: "sentence" }), beside = make("p", { class: "beside" });
  const best = make("p", { class: "best" }), bestRests = make("p", { class: "best-rests" });
  const least = make("p", { class: "least" });
  const tools = make("div", { class: "tools" });
  const notes = make("p", { class: "notes", id: "rk-notes" });
  const made = make("p", { class: "made", role: "status" });
  const root = make("section", { class: "rk rk-details", "aria-label": "The answer in full" },
    sentence, beside, best, bestRests, least, tools, notes, made);
  el.append(root);

  let before = "";
  function show() {
    const view = model.get("view");
    root.dataset.turn = view.turn;
    root.dataset.refining = view.refining ? "yes" : "no";
    const lines = [[sentence, view.sentence], [beside, view.beside], [best, view.best?.[0]],
      [bestRests, view.best?.[0] && view.best[1]], [least, view.least], [notes, view.notes]];
    for (const [line, words] of lines) {
      write(line, words ?? "");
      line.hidden = !words;
    }
    tools.hidden = !view.tools?.length;
    const now = JSON.stringify(view.tools ?? []);
    if (now === before) return;
    before = now;
    const had = [...tools.children].indexOf(document.activeElement);
    tools.replaceChildren(...(view.tools ?? []).map(([kind, words]) => make("button", { type: "button",
      "aria-describedby": "rk-refused rk-notes", onclick: () => tell(model, { kind }) }, words)));
    if (had >= 0) tools.children[had]?.focus();
  }

  function hear(message) {
    if (message.kind !== "page") return;
    made.replaceChildren(message.words && message.words + " ");
    if (message.html) made.append(make("a", { href: blobLink(message.html, "text/html"), target: "_blank", rel: "noopener" }, "Open it"));
  }

  model.on("msg:custom", hear);
  const stop = follow(model, ["view"], show);
  return () => {
    model.off("msg:custom", hear);
    stop();
  };
}

export default { render };
