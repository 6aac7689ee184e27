"use strict";
// Puts each part that changed in the place of the old one, and sends answers without leaving the page.
(() => {
  const link = document.getElementById("link");
  const words = document.getElementById("words");

  const show = (html) => {
    const fresh = new DOMParser().parseFromString(html, "text/html");
    let asked = false;
    for (const part of fresh.querySelectorAll("header[id], section[id]")) {
      const old = document.getElementById(part.id);
      if (!old || old.outerHTML === part.outerHTML) continue;
      // The element itself stays: a screen reader watches it, and the focus may lie in it.
      const held = old.contains(document.activeElement) ? document.activeElement.value : undefined;
      old.replaceChildren(...part.childNodes);
      asked ||= part.id === "now";
      for (const name of ["data-hazard"]) {
        if (part.hasAttribute(name)) old.setAttribute(name, part.getAttribute(name));
      }
      if (held !== undefined) (old.querySelector(`[value="${CSS.escape(held)}"]`) || words || document.body).focus({ preventScroll: true });
    }
    // What to do now is seen whole, however far down somebody typed.
    if (asked) scrollTo(0, 0);
  };

  const listen = () => {
    const events = new EventSource("/events");
    events.onmessage = (event) => { link.textContent = ""; show(event.data); };
    // The browser tries again by itself; the words say so.
    events.onerror = () => { link.textContent = "The program does not answer. What you see may be old: treat it as live."; };
    addEventListener("pagehide", () => events.close());
  };
  listen();
  addEventListener("pageshow", (event) => { if (event.persisted) listen(); });

  const form = document.getElementById("answer");
  if (!words) return;
  const send = async (text) => {
    if (!text.trim()) return;
    // Emptied at once, so that what is typed meanwhile stays.
    if (text === words.value) words.value = "";
    const turn = document.querySelector("[name=turn]").value;
    const answer = await fetch("/answer", { method: "POST", body: new URLSearchParams({ turn, words: text }), redirect: "manual" })
      .catch(() => undefined);
    const taken = answer && (answer.ok || answer.type === "opaqueredirect");
    link.textContent = taken ? "" : `“${text.trim()}” was not taken. Say it, or send it again.`;
  };
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    send(event.submitter && event.submitter.name === "words" ? event.submitter.value : words.value);
  });
  document.addEventListener("click", (event) => {
    const piece = event.target.closest("[data-piece]");
    if (!piece) return;
    words.value = `${words.value} ${piece.dataset.piece}`.trim() + " ";
    words.focus();
  });
  const keys = new Map((form.dataset.keys || "").split(" ").map((pair) => pair.split("=")));
  document.addEventListener("keydown", (event) => {
    // Escape stops, wherever the focus is; any letter or figure begins an answer.
    if (event.key === "Escape") { event.preventDefault(); send("stop"); return; }
    // The keys that say something; all others are the browser's, and the page keys scroll.
    const held = [["Ctrl", event.ctrlKey], ["Meta", event.metaKey], ["Alt", event.altKey], ["Shift", event.shiftKey]];
    const chord = [...held.filter(([, down]) => down).map(([name]) => name), event.key].join("+");
    if (keys.has(chord)) { event.preventDefault(); send(keys.get(chord)); return; }
    const plain = event.key.length === 1 && /[a-z0-9.]/i.test(event.key) && !event.ctrlKey && !event.metaKey && !event.altKey;
    if (plain && !event.target.closest("input")) words.focus();
  });
})();
