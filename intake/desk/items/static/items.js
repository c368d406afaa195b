// A thumbnail swaps the large picture in place. Without scripts it is a link that does the same.
"use strict";
(() => {
  const stage = document.getElementById("stage");
  if (!stage) return;
  document.addEventListener("click", (e) => {
    const thumb = e.target.closest("a[data-show]");
    if (!thumb || e.ctrlKey || e.metaKey || e.shiftKey || e.button) return;
    e.preventDefault();
    const id = thumb.dataset.show;
    const img = stage.querySelector("img");
    img.src = "/photos/" + id + "/large";
    img.alt = thumb.querySelector("img").alt;
    stage.href = "/photos/" + id + "/full";
    document.getElementById("about").href = "/photos/" + id;
    document.querySelectorAll("a[data-show][aria-current]").forEach((a) => a.removeAttribute("aria-current"));
    thumb.setAttribute("aria-current", "true");
    history.replaceState(null, "", thumb.href);
  });
})();
