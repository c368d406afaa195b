// The bench with scripts: photos change in place, Alt keys act, a look-alike serial is noticed while it is typed.
// Everything here is also a link or a button.
"use strict";
(() => {
  const stage = document.getElementById("stage");
  const plate = document.getElementById("plate");
  if (!stage || !plate) return;
  const img = document.getElementById("stage-img");
  const thumbs = () => [...document.querySelectorAll("a[data-show]")];

  // ---- the photo on the stage ----
  const show = (thumb) => {
    const id = thumb.dataset.show;
    near(false);
    img.src = "/photos/" + id + "/large";
    img.dataset.full = "/photos/" + id + "/full";
    img.alt = thumb.dataset.as + " of the thing to read";
    stage.href = img.dataset.full;
    thumbs().forEach((t) => t.removeAttribute("aria-current"));
    thumb.setAttribute("aria-current", "true");
    document.querySelectorAll("input[data-selected]").forEach((field) => { field.value = id; });
    document.getElementById("cut").disabled = thumb === thumbs()[0];
    const caption = document.getElementById("caption");
    const role = document.createElement("b");
    role.textContent = thumb.dataset.as;
    caption.replaceChildren(role, ...[thumb.dataset.at, thumb.dataset.camera].filter(Boolean).map((s) => " · " + s));
  };
  document.addEventListener("click", (e) => {
    const thumb = e.target.closest("a[data-show]");
    if (!thumb || e.ctrlKey || e.metaKey || e.shiftKey || e.button) return;
    e.preventDefault();
    show(thumb);
  });

  // ---- the loupe: a click looks closer, the pointer moves it ----
  const near = (on, e) => {
    stage.classList.toggle("close", on);
    if (!on) return;
    if (img.src !== new URL(img.dataset.full, location).href) img.src = img.dataset.full;
    aim(e);
  };
  const aim = (e) => {
    const box = stage.getBoundingClientRect();
    stage.style.setProperty("--x", (100 * (e.clientX - box.left)) / box.width + "%");
    stage.style.setProperty("--y", (100 * (e.clientY - box.top)) / box.height + "%");
  };
  stage.addEventListener("click", (e) => {
    if (e.ctrlKey || e.metaKey || e.shiftKey || e.button) return;
    e.preventDefault();
    near(!stage.classList.contains("close"), e);
  });
  stage.addEventListener("pointermove", (e) => { if (stage.classList.contains("close")) aim(e); });

  // ---- keys: always with Alt, so that none fires while a plate is typed ----
  const press = (selector) => {
    const el = document.querySelector(selector);
    if (el && !el.disabled) el.click();
  };
  document.addEventListener("keydown", (e) => {
    if (!e.altKey || e.ctrlKey || e.metaKey || e.shiftKey || e.isComposing) return;
    const digit = /^Digit([1-9])$/.exec(e.code);
    const keys = { KeyS: "#cut", KeyJ: "#join", KeyP: "#mark", KeyN: "#next", KeyZ: ".flash button" };
    if (digit) {
      const thumb = thumbs()[Number(digit[1]) - 1];
      if (thumb) show(thumb);
    } else if (keys[e.code]) press(keys[e.code]);
    else return;
    e.preventDefault();
  });

  // ---- the same thing twice? asked while the serial is typed ----
  const told = document.getElementById("twins");
  let timer = 0, asked = "";
  const ask = async () => {
    const query = new URLSearchParams(["maker", "model", "serial"].map((name) => [name, plate.elements[name].value])).toString();
    if (query === asked) return;
    asked = query;
    try {
      const answer = await fetch("/bench/twins?" + query, { credentials: "same-origin" });
      if (!answer.ok || query !== asked) return;
      const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
      told.replaceChildren(...fresh.querySelectorAll(".twins"));
    } catch { /* the desk is away; saving will tell */ }
  };
  plate.addEventListener("input", () => { clearTimeout(timer); timer = setTimeout(ask, 250); });

  // ---- the current group stays in view ----
  const centre = () => {
    const on = document.querySelector(".bunch.on");
    const row = on && on.closest(".ribbon-row");
    if (row) row.scrollLeft = on.offsetLeft - (row.clientWidth - on.offsetWidth) / 2;
  };
  centre();
  document.addEventListener("desk:swapped", centre);
})();
