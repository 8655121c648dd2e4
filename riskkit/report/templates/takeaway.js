// The take-away page: which storm, which home and whether the pump works; the moving section does the rest.
const all = JSON.parse(document.getElementById("data").textContent);
const kept = { section: {}, animation: {}, moment_s: 0 }, heard = {};
const sectionModel = {
  get: (key) => kept[key],
  set: (key, value) => { kept[key] = value; },
  save_changes: () => {},
  on: (event, call) => (heard[event] ??= new Set()).add(call),
  off: (event, call) => heard[event]?.delete(call),
};
const chosen = { home: 0, storm: Math.max(0, all.storms.indexOf(10)), animation: 0 };
const part = (id) => document.getElementById(id);

function choices(parent, name, words) {
  const buttons = words.map((text, k) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = text;
    button.addEventListener("click", () => { chosen[name] = k; showChosen(); });
    parent.append(button);
    return button;
  });
  return () => buttons.forEach((button, k) => button.setAttribute("aria-pressed", String(k === chosen[name])));
}

const marks = [
  choices(part("storms"), "storm", all.storms.map((yr) => `${yr}-year storm`)),
  choices(part("pump"), "animation", [all.two_pumps ? "stops, and the second too" : "stops", "works"]),
  choices(part("homes"), "home", all.homes.map(({ words }) => words)),
];
part("helps").hidden = all.homes.length < 2;

function showChosen() {
  marks.forEach((mark) => mark());
  const home = all.shown[chosen.home], storm = home.storms[chosen.storm];
  for (const [key, text] of Object.entries(storm.figure)) part(key).textContent = text;
  const year = all.homes[chosen.home].chance;
  if (part("chance")) part("chance").hidden = !year;
  if (year) [part("year").textContent, part("year-of").textContent] = year;
  part("done").hidden = chosen.home === 0;
  part("done").textContent = chosen.home === 0 ? "" : `This is not done yet. It is how your home would be, if done: ${all.homes[chosen.home].words}`;
  part("pump").parentElement.hidden = home.section.parts?.pump === "none";
  kept.section = home.section;
  kept.animation = storm.animations[chosen.animation];
  for (const key of ["section", "animation"]) heard[`change:${key}`]?.forEach((call) => call());
}

document.addEventListener("rk-step", ({ detail }) => { if (detail === "help") part("helps").scrollIntoView({ block: "center" }); });
render({ model: sectionModel, el: part("section") });
showChosen();
