// What-ifs at once, means as they are typed, nothing typed lost. Every page works without this.
"use strict";
(() => {
  const asked = new Map();

  // Fetches a piece of a page into its place; a later question to the same place wins.
  async function put(place, address) {
    asked.get(place)?.abort();
    const control = new AbortController();
    asked.set(place, control);
    place.setAttribute("aria-busy", "true");
    try {
      const answer = await fetch(address, { signal: control.signal, redirect: "error" });
      const text = await answer.text();
      // What is no piece is a whole page: this device is out, say.
      if (text.startsWith("<!DOCTYPE")) { location.reload(); return false; }
      place.innerHTML = text;
      return answer.ok;
    } catch (error) {
      if (error.name !== "AbortError") {
        place.textContent = "No answer: is bellstack serve still running?";
      }
      return false;
    } finally {
      if (asked.get(place) === control) place.removeAttribute("aria-busy");
    }
  }

  // The fields of a form, or of a part of it, as they stand in an address.
  function fields(from) {
    const pairs = new URLSearchParams();
    for (const field of from.querySelectorAll("input, select, textarea")) {
      const off = /radio|checkbox/.test(field.type) && !field.checked;
      if (field.name && field.name !== "token" && !off) pairs.append(field.name, field.value);
    }
    return pairs;
  }

  function later(what, wait) {
    let timer;
    return () => { clearTimeout(timer); timer = setTimeout(what, wait); };
  }

  // What takes longer comes after the page, once: what was found for the car stays when a what-if
  // is answered.
  const found = new Map();
  function laterPieces(within) {
    for (const place of within.querySelectorAll("[data-piece]")) {
      const known = found.get(place.dataset.piece);
      if (known) { place.replaceWith(known); continue; }
      found.set(place.dataset.piece, place);
      put(place, place.dataset.piece);
    }
  }
  laterPieces(document);

  // A what-if: its answer is put in place as soon as something else is chosen.
  for (const form of document.querySelectorAll("form[data-answer]")) {
    const place = document.getElementById(form.dataset.answer);
    const said = form.querySelector(".said");
    const answer = async () => {
      const pairs = fields(form);
      const page = `${form.action}?${pairs}`;
      pairs.set("piece", "1");
      await put(place, `${form.action}?${pairs}`);
      laterPieces(place);
      const told = [...place.querySelectorAll(".verdict > .word, .verdict .ends strong, .refused p")];
      said.textContent = told.slice(0, 2).map((one) => one.textContent).join(": ");
      said.hidden = !told.length;
      history.replaceState(null, "", page);
      // The unit's button comes back to what is tried.
      for (const back of document.querySelectorAll('input[name="back"]')) {
        back.value = page.slice(location.origin.length);
      }
    };
    const typed = later(answer, 350);
    form.addEventListener("change", answer);
    form.addEventListener("input", (event) => { if (event.target.type === "text") typed(); });
    form.addEventListener("submit", (event) => { event.preventDefault(); answer(); });
  }

  // What is told of a reading while it is typed: mean, scatter, what looks like a slip.
  for (const place of document.querySelectorAll("[data-told]")) {
    const output = place.querySelector("output");
    const common = place.closest("form").querySelector("[data-common]");
    const tell = later(() => {
      const pairs = fields(place);
      if (common) for (const [name, value] of fields(common)) pairs.append(name, value);
      pairs.append("piece", "1");
      put(output, place.dataset.told + (place.dataset.told.includes("?") ? "&" : "?") + pairs);
    }, 400);
    place.addEventListener("input", tell);
  }

  // What was typed and not sent yet is still there when the page is looked at again.
  for (const form of document.querySelectorAll("form[data-keep]")) {
    const key = `typed ${location.pathname}${location.search} ${form.id}`;
    const texts = [...form.querySelectorAll('input[type="text"], textarea')].filter((field) => field.name !== "by");
    try {
      const kept = JSON.parse(sessionStorage.getItem(key) || "{}");
      for (const field of texts) if (field.name in kept && !field.value) field.value = kept[field.name];
      form.addEventListener("input", () => {
        const all = texts.filter((field) => field.value).map((field) => [field.name, field.value]);
        sessionStorage.setItem(key, JSON.stringify(Object.fromEntries(all)));
      });
      form.addEventListener("submit", () => sessionStorage.removeItem(key));
    } catch { /* A browser that keeps nothing still sends forms. */ }
  }
})();
