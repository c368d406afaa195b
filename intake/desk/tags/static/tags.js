// The sheet of tags: the drawn paper shows where the labels will fall, and a click on it says where to start.
"use strict";
(() => {
  const form = document.getElementById("printing");
  if (!form) return;
  const start = form.elements.start, blank = form.elements.blank, more = form.elements.more;
  const panel = document.getElementById("start-sheet"), reckoning = document.getElementById("reckoning");
  let drawn = null;

  const chosen = () => form.querySelector("input[name=stock]:checked");
  const wanted = () => form.querySelectorAll("input[name=item]:checked").length
    + Math.max(0, Number(blank.value) || 0)
    + (more.value.trim() ? more.value.trim().split(/\s+/).length : 0);
  const words = (n, noun) => n + " " + noun + (n === 1 ? "" : "s");

  const reckon = () => {
    const stock = chosen();
    if (!stock) return;
    const cells = Number(stock.dataset.cells);
    start.max = cells;
    if (Number(start.value) > cells) start.value = 1;
    if (drawn !== stock.value) {
      const paper = stock.closest("label").querySelector("svg").cloneNode(true);
      paper.removeAttribute("width"); paper.removeAttribute("height");
      panel.replaceChildren(paper);
      panel.hidden = cells === 1;
      drawn = stock.value;
    }
    const skip = Math.max(0, (Number(start.value) || 1) - 1), n = wanted();
    panel.querySelectorAll(".cell").forEach((cell, i) => {
      cell.classList.toggle("gone", i < skip);
      cell.classList.toggle("full", i >= skip && i < skip + n);
    });
    const sheets = Math.ceil((skip + n) / cells);
    reckoning.textContent = n ? words(n, "tag") + (cells > 1 ? " on " + words(sheets, "sheet") : "") : "Nothing chosen yet; tags";
  };

  panel.addEventListener("click", (e) => {
    const i = [...panel.querySelectorAll(".cell")].indexOf(e.target);
    if (i < 0) return;
    start.value = i + 1;
    reckon();
  });
  // Where the PDF is downloaded, this page stays: what is sent from it next is another change.
  form.addEventListener("submit", () => setTimeout(() => {
    form.elements.op.value = Array.from(crypto.getRandomValues(new Uint8Array(16)), (b) => "0123456789abcdefghjkmnpqrstvwxyz"[b & 31]).join("");
  }));
  form.addEventListener("input", reckon);
  form.addEventListener("change", reckon);
  document.addEventListener("desk:swapped", reckon);
  reckon();
})();
