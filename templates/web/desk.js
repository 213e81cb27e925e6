// The pages of the desk work without this file; it keeps the settings and opens files.
"use strict";
(() => {
  const { listTargets, followClient, askFile, send, openTab, reasonOf, saveFile, isDiscreet, markDiscreet, readStore } = settings;
  const OWN = ["text", "title", "asked", "shown", "steps", "from", "to", "log"]; // not shared
  const byId = (id) => document.getElementById(id);
  let form = null;
  document.documentElement.classList.add("scripted");

  let timer = 0;
  function say(message, stays = false) {
    byId("status").textContent = message;
    clearTimeout(timer);
    if (!stays) timer = setTimeout(() => say("", true), 8000);
  }

  // What the first page keeps: the fields of its form.
  function fill(fields) {
    if (fields.has("accent") && byId("accent")) {
      byId("accent").value = fields.get("accent");
      listTargets(fields.get("accent"));
    }
    for (const field of form.elements) {
      if (!field.name || OWN.includes(field.name) || field.name.startsWith("pick-")) continue;
      if (field.type === "checkbox") field.checked = fields.has(field.name);
      else if (fields.has(field.name) && field.tagName !== "BUTTON") field.value = fields.get(field.name);
    }
  }

  function showNow() {
    settings.showNow();
    const ticked = byId("ticked");
    if (ticked) ticked.textContent = String(document.querySelectorAll('[name^="pick-"]:checked').length);
  }

  function complain(message, beside) {
    say("", true);
    for (const old of document.querySelectorAll(".problem")) old.remove();
    if (!message) return;
    const problem = document.createElement("p");
    problem.className = "problem bad";
    problem.setAttribute("role", "alert");
    problem.textContent = message;
    beside.before(problem);
    problem.scrollIntoView({ block: "nearest" });
  }

  // A table as spreadsheets save it: UTF-8, UTF-16 with its mark, or what Windows writes.
  async function readTable(file) {
    const bytes = new Uint8Array(await file.arrayBuffer());
    const wide = bytes[0] === 0xff && bytes[1] === 0xfe;
    try {
      return new TextDecoder(wide ? "utf-16le" : "utf-8", { fatal: true }).decode(bytes);
    } catch {
      return new TextDecoder("windows-1252").decode(bytes);
    }
  }

  // A form stays as it is while its answer is made, and where there is none.
  async function submit(of, button) {
    const beside = button ? button.closest("p") : of;
    complain("");
    say("It is being made.", true);
    try {
      const answer = await send(of, button);
      if (!answer.ok) throw new Error(await reasonOf(answer));
      if (answer.headers.has("content-disposition")) {
        say(`${await saveFile(answer)} is ready.`);
        return;
      }
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      byId("main").replaceWith(page.getElementById("main"));
      say("");
      start();
    } catch (error) {
      complain(error instanceof TypeError ? "drillgen has stopped. Start it again." : error.message, beside);
    }
  }

  function start() {
    form = byId("desk");
    const any = form || byId("client-form") || byId("check");
    if (any) {
      any.addEventListener("input", (event) => {
        if (event.target.id === "accent") listTargets(event.target.value);
        showNow();
      });
      any.addEventListener("submit", (event) => {
        const button = event.submitter;
        if (button && button.formTarget) {
          complain("");
          openTab(button, (message) => complain(message, button.closest("p")));
        } else if (!button || !button.hasAttribute("formaction")) {
          event.preventDefault();
          submit(any, button);
        }
      });
    }

    // Prompts in the words of the reader's English, unless others were asked for.
    const words = byId("words");
    if (words && !new URLSearchParams(location.search).has("words")) {
      const of = readStore();
      const asked = of && (of.get("locale") || JSON.parse(words.dataset.accents)[of.get("accent")]);
      if (asked && asked !== words.dataset.words) location.replace(words.querySelector("a").href);
    }

    if (form) {
      const stored = readStore();
      if (stored && byId("pitch")) fill(stored);
      const discreet = byId("discreet");
      const carry = () => { if (discreet) markDiscreet(discreet.checked); };
      if (discreet && isDiscreet()) discreet.checked = true;
      form.addEventListener("change", carry);
      followClient(form, (message, now, old) => {
        // A plan begins where the client is.
        const first = byId("weeks") && byId("from");
        if (first && (now.unit || old.unit)) first.value = now.unit || first.options[0].value;
        carry();
        say(message);
      }, (message) => complain(message, form));
    }

    // A file for the long text, or several for the texts of a week

    const file = byId("file");
    if (file) {
      byId("open").addEventListener("click", () => file.click());
      file.addEventListener("change", async () => {
        const files = [...file.files];
        file.value = "";
        const problem = byId("problem");
        problem.hidden = true;
        const text = byId("text");
        const texts = file.multiple ? [text.value.trim()] : [];
        for (const one of files) {
          const answer = await askFile(one);
          const found = await answer.json();
          if (answer.ok) {
            texts.push(found.text.trim());
          } else {
            problem.textContent = files.length > 1 ? `${one.name}: ${found.error}` : found.error;
            problem.hidden = false;
          }
        }
        if (!files.length || !texts.some(Boolean)) return;
        text.value = texts.filter(Boolean).join("\n\n---\n\n");
        text.focus();
      });
    }

    const filled = byId("log-file");
    if (filled) {
      byId("open-log").addEventListener("click", () => {
        // The same file may have changed since it was read.
        filled.value = "";
        filled.click();
      });
      filled.addEventListener("change", async () => {
        if (filled.files.length) byId("log").value = await readTable(filled.files[0]);
      });
    }

    const found = byId("found") || document.querySelector(".notice");
    if (found) found.focus();
    showNow();
  }

  start();
})();
