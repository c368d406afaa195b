// The desk's own script: pages that follow the book, and keys. Every page works without it.
"use strict";
(() => {
  const root = document.documentElement;
  const textual = "input:not([type=checkbox]):not([type=radio]):not([type=button]):not([type=submit]):not([type=hidden]),textarea,select,[contenteditable]";

  // ---- live regions: <section data-live id="…"> is fetched again when the book has changed ----
  // What the server last said of a region, so that changes made here by scripts do not count.
  const said = new WeakMap();
  const regions = (doc) => [...doc.querySelectorAll("[data-live][id]")];
  // Operation ids are fresh in every answer and no news.
  const plain = (el) => el.outerHTML.replace(/<input[^>]*name="op"[^>]*>/g, "");
  const remember = () => regions(document).forEach((el) => { if (!said.has(el)) said.set(el, plain(el)); });

  const typed = (field) => {
    if (field.type === "checkbox" || field.type === "radio") return field.checked !== field.defaultChecked;
    if (field.tagName === "SELECT") return [...field.options].some((o) => o.selected !== o.defaultSelected) && [...field.options].some((o) => o.defaultSelected);
    return field.type !== "hidden" && "defaultValue" in field && field.value !== field.defaultValue;
  };
  // A form somebody is in, or has written into, is never taken from under their hands.
  const busy = (el) => {
    const active = document.activeElement;
    if (active && active !== document.body && el.contains(active) && active.closest("form,[contenteditable]")) return true;
    return [...el.querySelectorAll("input,textarea,select")].some(typed) || el.closest("form") !== null && [...el.closest("form").elements].some(typed);
  };
  const focusAgain = (mark) => {
    if (!mark) return;
    const el = mark.id ? document.getElementById(mark.id) : [...document.querySelectorAll("a[href]")].find((a) => a.getAttribute("href") === mark.href);
    if (el) el.focus({ preventScroll: true });
  };

  let shown = Number(root.dataset.version || 0), wanted = shown, fetching = false, waiting = false;
  const refresh = async () => {
    if (fetching || !regions(document).length) return;
    fetching = true;
    const aim = wanted;
    try {
      const answer = await fetch(location.href, { headers: { "X-Desk-Live": "1" }, credentials: "same-origin", redirect: "error" });
      if (!answer.ok) return;
      const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
      waiting = false;
      for (const old of regions(document)) {
        if (!old.isConnected) continue;
        const next = fresh.getElementById(old.id);
        if (!next || plain(next) === said.get(old)) continue;
        if (busy(old)) { waiting = true; continue; }
        const active = document.activeElement;
        const mark = active && old.contains(active) ? { id: active.id, href: active.getAttribute("href") } : null;
        const made = document.importNode(next, true);
        said.set(made, plain(next));
        old.replaceWith(made);
        focusAgain(mark);
        made.dispatchEvent(new CustomEvent("desk:swapped", { bubbles: true }));
      }
      remember();
      shown = aim;
    } catch { /* the desk is away; the stream will say when it is back */ }
    finally {
      fetching = false;
      if (wanted !== aim) refresh();
    }
  };
  document.addEventListener("focusout", () => { if (waiting) setTimeout(refresh); });

  let stream = null;
  const listen = () => {
    // A browser opens few connections to one host: a hidden tab gives its own up.
    if (document.hidden || !("keeper" in root.dataset) || !regions(document).length) {
      if (stream) { stream.close(); stream = null; }
      return;
    }
    if (stream) return;
    stream = new EventSource("/live");
    stream.addEventListener("changed", (e) => {
      wanted = Number(e.data);
      if (wanted !== shown) refresh();
    });
    stream.addEventListener("error", () => {
      // Refused outright (a desk that is starting, too many pages): the browser would not ask again.
      if (stream && stream.readyState === EventSource.CLOSED) { stream = null; setTimeout(listen, 10000); }
    });
  };
  remember();
  listen();
  document.addEventListener("visibilitychange", listen);
  window.addEventListener("pagehide", () => { if (stream) { stream.close(); stream = null; } });
  window.addEventListener("pageshow", listen);

  // ---- keys: data-key="u" on a link or button presses it, on a field goes there ----
  // Never inside a text field, never with a modifier. Escape leaves a field.
  document.addEventListener("keydown", (e) => {
    if (e.defaultPrevented || e.ctrlKey || e.metaKey || e.altKey || e.isComposing) return;
    const inField = e.target instanceof Element && e.target.closest(textual);
    if (inField) {
      if (e.key === "Escape") inField.blur();
      return;
    }
    const target = [...document.querySelectorAll("[data-key]")].find((el) => el.dataset.key === e.key && !el.disabled && el.getClientRects().length);
    if (!target) return;
    e.preventDefault();
    if (target.matches(textual)) { target.focus(); if (target.select) target.select(); } else target.click();
  });

  // ---- countdown: <time data-left="300"> seconds from now, whatever this device's clock says ----
  const clocks = [...document.querySelectorAll("time[data-left]")];
  const count = () => {
    for (const clock of clocks) {
      const left = Math.max(0, Math.round(Number(clock.dataset.left) - performance.now() / 1000));
      clock.textContent = left ? Math.floor(left / 60) + ":" + String(left % 60).padStart(2, "0") : "over";
      if (!left) document.querySelectorAll("[data-over]").forEach((el) => { el.hidden = el.dataset.over !== "show"; });
    }
  };
  if (clocks.length) { count(); setInterval(count, 1000); }

  // ---- a form is sent once, however often its button is pressed ----
  document.addEventListener("submit", (e) => {
    const form = e.target;
    if (e.defaultPrevented || form.method !== "post" || "again" in form.dataset) return;
    if (form.dataset.sent) { e.preventDefault(); return; }
    form.dataset.sent = "1";
    window.addEventListener("pageshow", () => { delete form.dataset.sent; }, { once: true });
  });
})();
