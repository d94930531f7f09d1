// The traveller's controls: the stack that comes apart, each sheet's cutting order, the steps of painting, the card
// printed by itself, and lists that fold. Without this script everything is on the page all the same; the controls are
// hidden then.
"use strict";

const still = matchMedia("(prefers-reduced-motion: reduce)");
const STEP_MS = 420;

function stack(root) {
  const rack = root.querySelector(".rack");
  const ranges = [...root.querySelectorAll("input[type=range]")];
  const lay = root.querySelector("button");
  const show = () => {
    for (const range of ranges) {
      rack.style.setProperty(`--${range.name}`, range.value / 100);
      range.setAttribute("aria-valuetext", `${range.value} percent`);
    }
  };
  ranges.forEach((range) => range.addEventListener("input", show));
  lay.addEventListener("click", () => {
    ranges.forEach((range) => { range.value = 0; });
    show();
  });
  root.querySelector(".controls").hidden = false;
  show();
}

function order(root) {
  const passes = [...root.querySelectorAll(".pass")];
  const drawing = root.querySelector(".order");
  const [back, play, next] = root.querySelectorAll("button");
  const range = root.querySelector("input");
  const words = root.querySelector("output");
  const last = passes.length + 1; // one step more: the finished sheet
  let at = last;
  let timer = 0;

  const show = (step, drawn = false) => {
    at = Math.min(Math.max(step, 0), last);
    const finished = at === last;
    drawing.classList.toggle("unfinished", !finished);
    passes.forEach((pass, index) => {
      pass.classList.toggle("to-come", !finished && index >= at);
      pass.classList.toggle("now", !finished && index === at - 1);
      pass.classList.toggle("drawn", drawn && !still.matches && !finished && index === at - 1);
    });
    range.value = at;
    back.disabled = at === 0;
    next.disabled = finished;
    const text = finished ? "The finished sheet, lifted out of its waste"
      : at === 0 ? "The board, before anything is burnt" : passes[at - 1].dataset.words;
    words.textContent = text;
    range.setAttribute("aria-valuetext", text);
  };
  const stop = () => {
    clearInterval(timer);
    timer = 0;
    play.textContent = "Play";
  };
  const tick = () => {
    show(at + 1, true);
    if (at === last) stop();
  };
  play.addEventListener("click", () => {
    if (timer) { stop(); return; }
    if (at === last) show(0);
    play.textContent = "Pause";
    timer = setInterval(tick, still.matches ? 2 * STEP_MS : STEP_MS);
  });
  back.addEventListener("click", () => { stop(); show(at - 1); });
  next.addEventListener("click", () => { stop(); show(at + 1, true); });
  range.addEventListener("input", () => { stop(); show(Number(range.value)); });
  addEventListener("beforeprint", () => { stop(); show(last); });
  range.max = last;
  root.querySelector(".controls").hidden = false;
  show(last);
}

function coats(root) {
  const figures = [...root.querySelectorAll("figure")];
  const range = root.querySelector("input");
  const words = root.querySelector("output");
  const show = () => {
    figures.forEach((figure, index) => figure.classList.toggle("now", index === range.value - 1));
    words.textContent = figures[range.value - 1].querySelector("figcaption").textContent;
    range.setAttribute("aria-valuetext", words.textContent);
  };
  range.addEventListener("input", show);
  root.classList.add("one"); // without the script, and on paper, all four are shown
  root.querySelector(".controls").hidden = false;
  show();
}

document.querySelectorAll("[data-stack]").forEach(stack);
document.querySelectorAll("[data-order]").forEach(order);
document.querySelectorAll("[data-coats]").forEach(coats);

// The card alone: what isn't the card takes no room on paper for as long as the class is there.
document.querySelectorAll("[data-print]").forEach((button) => {
  button.hidden = false;
  button.addEventListener("click", () => {
    document.body.classList.add("card-only");
    print();
  });
});
addEventListener("afterprint", () => document.body.classList.remove("card-only"));

// On a phone the lists are folded; on a wide screen and on paper all of them are open, for browsers too whose style
// sheets can't open them.
const narrow = matchMedia("(max-width: 42rem)");
const folds = [...document.querySelectorAll("details.fold")];
const unfold = () => folds.forEach((fold) => { fold.open = !narrow.matches; });
addEventListener("beforeprint", () => folds.forEach((fold) => { fold.open = true; }));
addEventListener("afterprint", unfold);
narrow.addEventListener("change", unfold);
unfold();
