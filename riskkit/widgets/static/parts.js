// Small helpers that every panel begins with.

function make(tag, attributes = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else node.setAttribute(name, value === true ? "" : value);
  }
  node.append(...children.flat().filter((child) => child !== null && child !== undefined));
  return node;
}

function sentenceCase(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

// Write text only where it differs, so that screen readers and selections are left in peace.
function write(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

// Call `show` now and whenever one of the traits changes; the result takes it down again.
function follow(model, names, show) {
  for (const name of names) model.on(`change:${name}`, show);
  show();
  return () => names.forEach((name) => model.off(`change:${name}`, show));
}

// Offer choices anew only where they differ, so that an open list stays open.
function offer(select, options, chosen) {
  const key = JSON.stringify(options);
  if (select.dataset.options !== key) {
    select.dataset.options = key;
    select.replaceChildren(...options.map(([value, words]) => make("option", { value }, words)));
  }
  select.value = chosen;
}

function blobLink(text, kind) {
  return URL.createObjectURL(new Blob([text], { type: kind }));
}

// A link to bytes that came as base64, such as those of a picture in pixels.
function bytesLink(base64, kind) {
  const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
  return URL.createObjectURL(new Blob([bytes], { type: kind }));
}

// Who leaves waits until what was typed last is taken in, three seconds at most.
function leaveWhenHeard(event) {
  const waits = () => document.querySelector('.rk-form[data-waiting="yes"]');
  if (!waits()) return;
  event.preventDefault();
  let left = 60;
  const go = () => (waits() && left-- > 0 ? setTimeout(go, 50) : location.assign(event.target.href));
  go();
}

// A link to the start page, where there is one.
function wayBack() {
  const base = document.body.dataset.voila === "voila" && document.body.dataset.baseUrl;
  return base ? [make("a", { href: base.replace(/voila\/$/, ""), onclick: leaveWhenHeard }, "All pages"), " · "] : [];
}

// A message that a panel refuses is said at the top of the page, in its own sentence.
const heard = new WeakSet();
function sayRefused(answer) {
  if (answer.kind !== "refused") return;
  document.querySelector(".rk-not-taken")?.remove();
  document.body.prepend(make("p", { class: "rk-not-taken", role: "alert" }, answer.words));
}

// Send a message to the kernel; where it is gone the page is told, and what is typed stays.
function tell(model, message) {
  if (!heard.has(model)) heard.add(model), model.on("msg:custom", sayRefused);
  try {
    model.send(message);
  } catch {
    document.dispatchEvent(new CustomEvent("rk-lost"));
  }
}

const BEAT_MS = 3000, LOST_MS = 9000;

// Ask on a regular beat whether the kernel is there; it looks for new files then. Lost is what does not
// answer for a while; it may come back, after a pause of tablet or kernel. The result ends the beat.
function heartbeat(model, setLost) {
  let isLost = false, heard = performance.now(), ticked = heard;
  const change = (now) => { if (isLost !== now) setLost(isLost = now); };
  const hear = (message) => { if (message.kind === "beat") { heard = performance.now(); change(false); } };
  const lose = () => change(true);
  model.on("msg:custom", hear);
  document.addEventListener("rk-lost", lose);
  const beat = setInterval(() => {
    const now = performance.now();
    if (now - ticked > LOST_MS) heard = now; // this page slept itself: ask first
    ticked = now;
    tell(model, { kind: "beat" });
    if (now - heard > LOST_MS) lose();
  }, BEAT_MS);
  tell(model, { kind: "beat" });
  return () => { clearInterval(beat); document.removeEventListener("rk-lost", lose); model.off("msg:custom", hear); };
}
