// A thumbnail swaps the large picture in place, and a text that stands against the record can be
// taken over. Both work without scripts: the thumbnail is a link, the text can be typed.
"use strict";
(() => {
  const show = (thumb) => {
    const stage = document.getElementById("stage"), about = document.getElementById("about");
    const id = thumb.dataset.show, img = stage.querySelector("img");
    img.src = "/photos/" + id + "/large";
    img.alt = thumb.querySelector("img").alt;
    stage.querySelector(".as").textContent = thumb.dataset.as;
    stage.href = "/photos/" + id + "/full";
    about.href = "/photos/" + id + "?of=" + about.dataset.of;
    document.querySelectorAll("a[data-show][aria-current]").forEach((a) => a.removeAttribute("aria-current"));
    thumb.setAttribute("aria-current", "true");
    // A reload, and the page that follows the book, then show the same photo.
    if (!location.pathname.endsWith("/amend") && !location.pathname.endsWith("/part")) history.replaceState(null, "", thumb.href);
  };
  document.addEventListener("click", (e) => {
    const thumb = e.target.closest("a[data-show]");
    if (thumb && !e.ctrlKey && !e.metaKey && !e.shiftKey && !e.button) {
      e.preventDefault();
      show(thumb);
    }
    const take = e.target.closest("button[data-take]");
    if (take) {
      const field = document.getElementById(take.dataset.take);
      field.value = take.dataset.text;
      field.focus();
    }
  });
  document.querySelectorAll("button[data-take]").forEach((b) => { b.hidden = false; });
})();
