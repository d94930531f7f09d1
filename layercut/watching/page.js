// Follows the server's news and puts them on the page; sends choices. Only what changed is touched, so that the
// focus and half-written words stay where they are.
"use strict";

const token = document.querySelector("meta[name=layercut-token]").content;
const byId = (id) => document.getElementById(id);
const SVG = "http://www.w3.org/2000/svg";
const SEVERITY = { error: "Must change", warning: "Worth a look", info: "Good to know" };
const ALL = [["auto", "by price"], ["tie", "tie"], ["loose", "cut loose"], ["behind", "paint behind"], ["refuse", "leave"]];
const WAYS = [...ALL.slice(0, 4), ["out", "omit"], ALL[4]];
const PICTURES = {
  same: "It looks as before; what this save changes otherwise follows.",
  quick: "The first look: paints as drawn. Ties, shadows and what was found follow.",
  stack: "The stack with its shadows, light from the top left; no sheet is cut yet.",
  whole: "The finished stack, light from the top left.",
};

const opened = Date.now();
let state = null;      // what the server said last
let shown = null;      // the picture that can be seen
let wanted = "";       // the picture that is to be seen next
let place = null;      // the finding whose place is ringed
let told = "";         // the last words of the news
let news = null;       // the open line to the server

function make(name, attributes = {}, ...inside) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key in element && typeof value !== "string") element[key] = value;
    else element.setAttribute(key, value);
  }
  element.append(...inside);
  return element;
}

function text(element, words) {
  if (element.textContent !== words) element.textContent = words;
}

// ---- the picture

const clock = (ms) => new Date(ms).toLocaleTimeString([], { hour12: false });

// The panel keeps its place whatever margin a picture has: the stage is the panel and this much around it.
function stageBox() {
  const [width, height] = state.panel;
  const margin = 0.06 * Math.max(width, height);
  return [-margin, -margin, width + 2 * margin, height + 2 * margin];
}

function layOut() {
  const [, , width, height] = stageBox();
  const stage = byId("picture");
  stage.style.aspectRatio = `${width} / ${height}`;
  stage.style.maxWidth = matchMedia("(min-width: 60rem)").matches ? `calc((100vh - 9rem) * ${width / height})` : "";
}

function layImage(image, box) {
  const [x, y, width, height] = stageBox();
  image.style.left = `${(100 * (box[0] - x)) / width}%`;
  image.style.top = `${(100 * (box[1] - y)) / height}%`;
  image.style.width = `${(100 * box[2]) / width}%`;
  image.style.height = `${(100 * box[3]) / height}%`;
}

async function showPicture(picture) {
  if (!picture) return;
  if (picture.url === wanted) {
    if (shown?.url === wanted && (shown.run !== picture.run || shown.kind !== picture.kind)) nowShown(picture);
    return;
  }
  wanted = picture.url;
  const image = make("img", { alt: `The stack of ${state.file}, seen from the front` });
  image.src = picture.url;
  try {
    await image.decode();
  } catch {
    if (wanted === picture.url) wanted = "";
    return; // a newer one is on its way, or the server is gone, which is told elsewhere
  }
  if (wanted !== picture.url) return;
  const stage = byId("picture");
  layOut();
  layImage(image, picture.box);
  const before = stage.querySelector("img");
  if (before) before.replaceWith(image);
  else stage.prepend(image);
  nowShown(picture);
}

function nowShown(picture) {
  const stage = byId("picture");
  const first = !shown || shown.run !== picture.run;
  // A page that was opened after the save can't say how long that took.
  const ms = !first ? shown.ms : picture.saved < opened ? null : Date.now() - picture.saved;
  shown = { ...picture, ms };
  drawOver();
  words();
  // After the next frame it is really there.
  requestAnimationFrame(() => setTimeout(() => {
    if (first) stage.dataset.at = Date.now();
    Object.assign(stage.dataset, { run: picture.run, kind: picture.kind, lastAt: Date.now() });
  }));
}

// ---- what lies over the picture: islands that can be pointed at, and the ring around a place

function draw(name, attributes) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  return element;
}

function drawOver() {
  if (!state.panel) return;
  const stage = byId("picture");
  const box = stageBox();
  const size = Math.max(box[2], box[3]);
  const over = draw("svg", { viewBox: box.join(" "), "aria-hidden": "true" });
  for (const island of state.islands) {
    const path = draw("path", { d: island.path, class: "island", "fill-rule": "evenodd", "stroke-width": size / 250 });
    path.dataset.island = island.id;
    path.addEventListener("click", () => {
      const fields = fieldsOf(island.id);
      (fields?.querySelector("input:checked") ?? fields?.querySelector("input"))?.focus();
    });
    over.append(path);
  }
  if (place) {
    const [cx, cy] = place.at;
    const ring = { cx, cy, r: size / 40, class: "place halo", "stroke-width": size / 120 };
    over.append(draw("circle", ring), draw("circle", { ...ring, class: "place", "stroke-width": size / 250 }));
  }
  stage.querySelector("svg")?.remove();
  stage.append(over);
}

function point(id, on) {
  for (const path of document.querySelectorAll("#picture .island")) {
    if (path.dataset.island === id) path.classList.toggle("on", on);
  }
}

// ---- words about what is shown

function seconds(ms) {
  return ms < 995 ? `${Math.max(Math.round(ms / 10) / 100, 0.01).toFixed(2)} s` : `${(ms / 1000).toFixed(1)} s`;
}

function words() {
  if (!shown) return;
  // A save whose proof failed can be looked at, but not be made.
  const unseen = state.trouble && shown.run !== state.trouble.run;
  const stale = state.trouble || shown.run !== state.run;
  const after = shown.ms === null ? "" : `, shown ${seconds(shown.ms)} after it`;
  let line = `Save ${shown.run} of ${clock(shown.saved)}${after}.`;
  if (unseen) line = `Still showing save ${shown.run} of ${clock(shown.saved)}, the last good one.`;
  else if (!stale && !state.busy && state.outcome) line += ` ${state.outcome}`;
  if (line !== told) text(byId("news"), (told = line));
  text(byId("caption"), PICTURES[shown.kind]);
}

function showTrouble() {
  const alerts = byId("alerts");
  const sentence = state.trouble ? state.trouble.sentence : "";
  if (alerts.dataset.sentence === sentence) return;
  alerts.dataset.sentence = sentence;
  alerts.replaceChildren();
  if (!sentence) return;
  const seen = state.known_run === state.trouble.run;
  const heading = make("strong", {}, `Save ${state.trouble.run} can't be ${seen ? "made" : "shown"}.`);
  alerts.append(make("div", { class: "stop" }, heading, sentence));
}

function showBusy() {
  byId("busy").classList.toggle("on", Boolean(state.busy));
  if (state.busy) text(byId("busy").querySelector(".what"), `compiling save ${state.run}: ${state.busy}`);
  document.title = `${state.trouble ? "Stopped: " : ""}${state.file}: watched`;
}

// ---- choices

async function send(choice, note) {
  text(note, "");
  note.classList.remove("bad");
  let answer;
  try {
    const response = await fetch("/choice", {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-Layercut-Token": token },
      body: JSON.stringify(choice),
    });
    answer = response.status === 403 ? { sentence: await response.text() } : await response.json();
    note.classList.toggle("bad", !response.ok);
    text(note, answer.sentence);
    return response.ok;
  } catch {
    note.classList.add("bad");
    text(note, "layercut doesn't answer; it may have been ended.");
    return false;
  }
}

function showLengths() {
  for (const length of state.lengths) {
    const id = `length-${length.key}`;
    const form = byId(id) || newLength(id, length);
    const input = form.querySelector("input");
    const fixed = length.fixed;
    input.disabled = form.querySelector("button").disabled = fixed;
    if (fixed) text(form.querySelector(".note"), "Set with --set, which wins over the job file.");
    // What is being written, or was refused, stays until it is sent or put right.
    if (document.activeElement !== input && input.getAttribute("aria-invalid") !== "true") input.value = length.value;
  }
}

function newLength(id, length) {
  const note = make("p", { class: "note", id: `${id}-note`, role: "status" });
  const input = make("input", {
    type: "text", id: `${id}-value`, autocomplete: "off", spellcheck: "false", "aria-describedby": note.id,
  });
  const name = make("label", { for: input.id }, length.name);
  const form = make("form", { class: "length", id }, name, input, make("button", { type: "submit" }, "Set"), note);
  form.querySelector("button").setAttribute("aria-label", `Set ${length.name.toLowerCase()}`);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const good = await send({ key: length.key, value: input.value }, note);
    input.setAttribute("aria-invalid", String(!good));
  });
  byId("lengths").append(form);
  return form;
}

const fieldsOf = (id) => [...byId("islands").querySelectorAll("fieldset")].find((one) => one.dataset.island === id);

function newFields(id, title, ways) {
  const note = make("p", { class: "note", role: "status" });
  const row = make("div", { class: "ways" });
  const group = `way-${id}`;
  for (const [policy, name] of ways) {
    const radio = make("input", { type: "radio", name: group, value: policy });
    radio.addEventListener("change", () => send({ island: id, policy }, note));
    row.append(make("label", {}, radio, name, make("span", { class: "price" })));
  }
  const fields = make("fieldset", {}, make("legend", {}, title, make("span", { class: "size" })), row, note);
  fields.dataset.island = id;
  return fields;
}

function showIslands() {
  const list = byId("islands");
  const empty = state.known_run ? "There is none: all wood hangs together." : "Nothing is known yet.";
  text(byId("no-islands"), state.islands.length ? `Each way has its price, in ${state.units}² of what a viewer sees wrong; by price takes the least. Leave a piece, and nothing can be cut.` : empty);
  text(byId("changes"), state.changes.join(" "));
  const every = byId("every-island");
  every.hidden = !state.islands.length;
  if (!every.firstChild) every.append(newFields("", "Each that has no choice of its own", ALL));
  const all = every.firstChild;
  check(all, state.island_policy);
  all.disabled = state.islands_fixed;
  if (state.islands_fixed) text(all.querySelector(".note"), "Set on the command line, which wins over the job file.");
  const ids = new Set(state.islands.map((island) => island.id));
  for (const item of [...list.children]) if (!ids.has(item.firstChild.dataset.island)) item.remove();
  state.islands.forEach((island, index) => {
    const fields = fieldsOf(island.id) || newFields(island.id, island.id, WAYS);
    if (!fields.parentElement) {
      for (const [kind, on] of [["pointerenter", true], ["pointerleave", false], ["focusin", true], ["focusout", false]]) {
        fields.addEventListener(kind, () => point(island.id, on));
      }
    }
    const hangs = island.neck ? `, hangs by ${island.neck}` : "";
    const own = island.own ? "" : " · no choice of its own";
    const element = island.element.includes(`'${island.id}'`) ? "" : island.element;
    const words = [`on ${island.layer}`, element, island.size].filter(Boolean).join(", ");
    text(fields.querySelector(".size"), `${words}${hangs}${own}`);
    check(fields, island.policy);
    showPrices(fields, island);
    const item = fields.parentElement || make("li", {}, fields);
    if (list.children[index] !== item) list.insertBefore(item, list.children[index] || null);
  });
}

function showPrices(fields, island) {
  const ways = new Map((island.ways || []).map((way) => [way.policy, way]));
  for (const radio of fields.querySelectorAll("input")) {
    const way = ways.get(radio.value === "auto" ? island.chosen : radio.value);
    const words = !way ? "" : way.price ? (radio.value === "auto" && island.policy === "auto" ? `${nameOf(island.chosen)}, ${way.price}` : radio.value === "auto" ? "" : way.price) : "can't be";
    text(radio.parentElement.querySelector(".price"), words);
    radio.parentElement.classList.toggle("cannot", Boolean(way && !way.price && radio.value !== "auto"));
    radio.parentElement.title = way && radio.value !== "auto" ? way.why : "";
  }
}

const nameOf = (policy) => (WAYS.find(([way]) => way === policy) || ["", ""])[1];

function check(fields, policy) {
  for (const radio of fields.querySelectorAll("input")) radio.checked = radio.value === policy;
}

// ---- findings and sheets

let listed = "";

function showFindings() {
  const outcome = byId("outcome");
  const old = state.outcome && state.known_run !== state.run ? `Save ${state.known_run}: ` : "";
  text(outcome, old + (state.outcome || (state.busy ? "Looking." : "")));
  const errors = state.findings.some((finding) => finding.severity === "error");
  outcome.className = state.outcome ? (errors ? "bad" : "good") : "";
  const now = JSON.stringify(state.findings);
  if (now === listed) return;
  listed = now;
  place = null;
  byId("findings").replaceChildren(...state.findings.map(finding));
  text(byId("more"), state.more_findings ? `and ${state.more_findings} more; layercut check lists them all` : "");
}

function finding(one) {
  const kind = make("p", { class: "kind" }, make("b", {}, SEVERITY[one.severity]), ` · ${one.code}${one.layer ? ` · ${one.layer}` : ""}${one.ring ? ` · ring ${one.ring}` : ""}`);
  const item = make("li", { class: one.severity }, kind, make("p", { class: "words" }, one.message));
  if (one.at) {
    const button = make("button", { type: "button", class: "where", "aria-pressed": "false" }, `Show at ${one.place}`);
    button.addEventListener("click", () => {
      const off = button.getAttribute("aria-pressed") === "true";
      for (const other of document.querySelectorAll("button.where")) other.setAttribute("aria-pressed", "false");
      button.setAttribute("aria-pressed", String(!off));
      place = off ? null : one;
      drawOver();
      if (!off) byId("picture").scrollIntoView({ block: "nearest" });
    });
    item.append(button);
  }
  return item;
}

function showSheets() {
  const list = byId("sheet-list");
  const errors = state.findings.some((finding) => finding.severity === "error");
  const stale = state.sheets_run !== state.run;
  list.classList.toggle("stale", stale);
  let line = "";
  if (errors && !stale) line = "No sheet is cut while something must change.";
  else if (state.sheets.length && stale) line = `Of save ${state.sheets_run}; those of save ${state.run} follow.`;
  text(byId("sheets-state"), line);
  const addresses = state.sheets.map((sheet) => sheet.svg).join();
  if (list.dataset.addresses !== addresses) {
    list.dataset.addresses = addresses;
    list.replaceChildren(...state.sheets.map(sheet));
  }
  text(byId("proof"), state.proof);
}

const counted = (count, noun) => `${count} ${noun}${count === 1 ? "" : "s"}`;

function sheet(one) {
  const name = one.kind === "spacer" ? `${one.name}, ${counted(one.copies, "time")}` : `${one.place}  ${one.name}`;
  const parts = [one.facts, counted(one.openings, "opening")];
  if (one.ties) parts.push(counted(one.ties, "tie"));
  if (one.loose) parts.push(counted(one.loose, "loose piece"));
  const image = make("img", { src: one.svg, alt: `Sheet ${one.place}, ${one.name}: the wood that is left` });
  return make("figure", {}, image, make("figcaption", {}, make("span", { class: "name" }, name), parts.join(", ")));
}

// ---- the line to the server

function show() {
  text(byId("job"), state.job);
  showTrouble();
  showBusy();
  showLengths();
  showIslands();
  showFindings();
  showSheets();
  if (state.panel && shown) {
    layOut();
    layImage(byId("picture").querySelector("img"), shown.box);
    drawOver();
  }
  words();
  showPicture(state.picture);
}

function listen() {
  news = new EventSource("/news");
  news.onmessage = (event) => {
    const next = JSON.parse(event.data);
    // Another run of the command has another token.
    if (state && state.session !== next.session) location.reload();
    state = next;
    byId("alerts").classList.remove("gone");
    show();
  };
  news.onerror = () => {
    if (!state) return;
    told = "layercut doesn't answer; this is the last picture that it sent.";
    text(byId("news"), told);
    byId("busy").classList.remove("on");
  };
}

// A browser opens few lines to one server, so a tab that nobody sees gives its own up.
document.addEventListener("visibilitychange", () => {
  if (document.hidden) {
    news?.close();
    news = null;
  } else if (!news) listen();
});
addEventListener("resize", () => { if (state?.panel) layOut(); });
if (!document.hidden) listen();
