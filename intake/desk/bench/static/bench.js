// The bench with scripts: photos change in place, Alt keys act, a look-alike serial is noticed while it is typed.
// Everything here is also a link or a button.
"use strict";
(() => {
  const stage = document.getElementById("stage");
  const plate = document.getElementById("plate");
  const work = document.querySelector(".work");
  if (!stage || !plate || !work) return;
  const img = document.getElementById("stage-img");
  const el = (tag, words, kind) => Object.assign(document.createElement(tag), { textContent: words, className: kind || "" });
  const thumbs = () => [...document.querySelectorAll("a[data-show]")];
  const words = ["name", "maker", "model", "serial"].map((name) => plate.elements[name]).filter(Boolean);

  // ---- the photo on the stage ----
  let selected = plate.elements.photo.value;
  const mark = () => thumbs().forEach((t) => {
    if (t.dataset.show === selected) t.setAttribute("aria-current", "true"); else t.removeAttribute("aria-current");
  });
  const show = (thumb) => {
    const { show: id, as, at, camera, damage } = thumb.dataset;
    selected = id;
    plate.elements.photo.value = id;
    if (as === "plate" && plate.elements.plate) plate.elements.plate.value = id;
    near(false);
    img.src = "/photos/" + id + "/large";
    img.dataset.full = "/photos/" + id + "/full";
    img.alt = as + " of the thing to read";
    stage.href = img.dataset.full;
    mark();
    reveal(thumb);
    document.getElementById("cut").disabled = thumb === thumbs()[0];
    document.querySelectorAll(".roles button").forEach((b) => b.setAttribute("aria-pressed", String(b.value === as)));
    document.getElementById("caption").replaceChildren(
      ...[at || "no time", camera].filter(Boolean).map((s) => el("span", s)), ...(damage ? [el("span", "damaged: " + damage, "doubt")] : []));
  };
  document.addEventListener("click", (e) => {
    const thumb = e.target.closest("a[data-show]");
    if (!thumb || e.ctrlKey || e.metaKey || e.shiftKey || e.button) return;
    e.preventDefault();
    show(thumb);
  });

  // ---- the loupe: one pixel of the photo on one of the screen, moved by the pointer or the arrow keys ----
  let at = { x: 50, y: 50 };
  const closer = () => {
    const fit = Math.min(stage.clientWidth / img.naturalWidth, stage.clientHeight / img.naturalHeight) || 1;
    stage.style.setProperty("--near", Math.max(1.6, 1 / (fit * devicePixelRatio)).toFixed(2));
  };
  const aim = (x, y) => {
    at = { x: Math.min(100, Math.max(0, x)), y: Math.min(100, Math.max(0, y)) };
    stage.style.setProperty("--x", at.x + "%");
    stage.style.setProperty("--y", at.y + "%");
  };
  const aimAt = (e) => {
    const box = stage.getBoundingClientRect();
    aim((100 * (e.clientX - box.left)) / box.width, (100 * (e.clientY - box.top)) / box.height);
  };
  const isNear = () => stage.classList.contains("close");
  const near = (on) => {
    stage.classList.toggle("close", on);
    if (!on) return;
    closer();
    if (img.getAttribute("src") !== img.dataset.full) img.src = img.dataset.full;
  };
  img.addEventListener("load", () => { if (isNear()) closer(); });
  stage.addEventListener("click", (e) => {
    if (e.ctrlKey || e.metaKey || e.shiftKey || e.button) return;
    e.preventDefault();
    if (e.detail) aimAt(e); else aim(50, 50); // a key has no place
    near(!isNear());
  });
  stage.addEventListener("pointermove", (e) => { if (isNear()) aimAt(e); });
  stage.addEventListener("keydown", (e) => {
    const step = { ArrowLeft: [-8, 0], ArrowRight: [8, 0], ArrowUp: [0, -8], ArrowDown: [0, 8] }[e.key];
    if (!isNear() || e.altKey || !(step || e.key === "Escape")) return;
    e.preventDefault();
    if (step) aim(at.x + step[0], at.y + step[1]); else near(false);
  });

  // ---- keys: always with Alt, so that none fires while a plate is typed ----
  const press = (selector) => {
    const target = document.querySelector(selector);
    if (target && !target.disabled) target.click();
  };
  const step = (by) => {
    const all = thumbs();
    const next = all[all.findIndex((t) => t.dataset.show === selected) + by];
    if (next) show(next);
  };
  const mac = /^(Mac|iP)/.test(navigator.platform); // there Alt with an arrow moves by words in a field
  const arrows = mac ? { ArrowUp: -1, ArrowDown: 1 } : { ArrowUp: -1, ArrowLeft: -1, ArrowDown: 1, ArrowRight: 1 };
  const acts = { s: "#cut", j: "#join", p: "#mark", n: "#next", z: ".flash button" };
  document.addEventListener("keydown", (e) => {
    if (!e.altKey || e.ctrlKey || e.metaKey || e.shiftKey || e.isComposing || e.getModifierState("AltGraph")) return;
    // The letter printed on the key counts; where Alt makes another character of it, its place does.
    const letter = /^[a-z]$/i.test(e.key) ? e.key.toLowerCase() : e.code.replace(/^Key/, "").toLowerCase();
    const digit = /^Digit([1-9])$/.exec(e.code);
    if (arrows[e.key]) step(arrows[e.key]);
    else if (digit) { const thumb = thumbs()[Number(digit[1]) - 1]; if (thumb) show(thumb); }
    else if (acts[letter]) { if (!e.repeat) press(acts[letter]); }
    else return;
    e.preventDefault();
  });
  document.querySelectorAll(".flash kbd").forEach((k) => { k.textContent = "Alt Z"; }); // the bare key types here

  // ---- Enter saves, but never in the stroke that completes a word, nor by being held down ----
  let stroke = null;
  plate.addEventListener("keydown", (e) => {
    if (e.key !== "Enter" || !e.target.matches("input")) return;
    if (e.repeat) e.preventDefault();
    stroke = { field: e.target, value: e.target.value, at: e.timeStamp };
  }, true);
  plate.addEventListener("submit", (e) => {
    if (stroke && e.timeStamp - stroke.at < 500 && stroke.field.value !== stroke.value) e.preventDefault();
    stroke = null;
  });

  // ---- the same thing twice? asked while the serial is typed ----
  const told = document.getElementById("twins");
  let timer = 0, asked = "";
  const ask = async () => {
    const typed = ["maker", "model", "serial"].map((name) => [name, plate.elements[name].value]);
    const query = new URLSearchParams([...typed, ["here", told.dataset.here], ["own", told.dataset.own]]).toString();
    if (query === asked) return;
    asked = query;
    try {
      const answer = await fetch("/bench/twins?" + query, { credentials: "same-origin" });
      if (!answer.ok || query !== asked) return;
      const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
      told.replaceChildren(...fresh.querySelectorAll(".twins"));
    } catch { /* the desk is away; saving will tell */ }
  };
  if (told) plate.addEventListener("input", () => { clearTimeout(timer); timer = setTimeout(ask, 250); });

  // ---- what changes while the page is open ----
  const centre = () => {
    const on = document.querySelector(".bunch.on");
    const row = on && on.closest(".ribbon-row");
    if (row) row.scrollLeft = on.offsetLeft - (row.clientWidth - on.offsetWidth) / 2;
  };
  // Scrolls the strip of this group's photos, and never the page.
  const reveal = (thumb) => {
    const film = thumb && thumb.closest(".film");
    if (!film) return;
    const box = film.getBoundingClientRect(), own = thumb.getBoundingClientRect();
    film.scrollTop += Math.max(0, own.bottom + 4 - box.bottom) + Math.min(0, own.top - 4 - box.top);
    film.scrollLeft += Math.max(0, own.right + 16 - box.right) + Math.min(0, own.left - 16 - box.left);
  };
  centre();
  reveal(document.querySelector(".film [aria-current]"));
  document.addEventListener("desk:swapped", (e) => {
    if (e.target.id === "ribbon") centre();
    if (e.target.id !== "film") return;
    const now = "/bench/" + e.target.dataset.group;
    const idle = words.length && words.every((field) => !field.value);
    // Nothing typed: go to the group as it is now. Otherwise saving shows it first.
    if (now !== work.dataset.here && idle) location.replace(now); else mark();
  });

  // A page that answered a form has the form's address; a reload should show the group, not send it again.
  // Where the bench came from is of use to the Undo of this one page.
  const address = new URL(location.href);
  address.pathname = work.dataset.here;
  address.searchParams.delete("from");
  if (address.href !== location.href) history.replaceState(null, "", address);
  // A page brought back from the browser's memory holds an operation that is used up.
  window.addEventListener("pageshow", (e) => {
    if (e.persisted) plate.elements.op.value = [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join("");
  });
  // The next plate is on its way while this one is read.
  if (img.dataset.ahead) window.addEventListener("load", () => { new Image().src = img.dataset.ahead; });
})();
