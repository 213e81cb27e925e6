// The page works without this file; it makes it live.
"use strict";
(() => {
  const WAIT = 250; // milliseconds from the last key to the preview
  const LARGEST = 16_000_000; // bytes of a dropped file
  const SOON = 400; // words from which the first ones are shown alone
  const { listTargets, showNow, followClient, askFile, fieldsOf, send, openTab, reasonOf, saveFile, isDiscreet, markDiscreet, readStore, STORE } = settings;

  const byId = (id) => document.getElementById(id);
  const work = byId("work");
  const text = byId("text");
  const slider = byId("shown");
  const holder = byId("preview-holder");
  const dialog = byId("dialog");
  const problem = byId("problem");
  const question = byId("question");
  let timer = 0;
  let running = null;
  let stale = false;
  let replaced = null;

  document.documentElement.classList.add("scripted");

  // Telling

  let sayTimer = 0;
  function say(message) {
    // Emptied first, so that the same sentence is read out again.
    byId("status").textContent = "";
    clearTimeout(sayTimer);
    sayTimer = setTimeout(() => { byId("status").textContent = message; }, 120);
  }

  // What nothing else on the screen shows is shown for a while, too.
  let showTimer = 0;
  function tell(message, undo = null) {
    say(message);
    const toast = byId("toast");
    toast.textContent = message;
    if (undo) {
      const button = Object.assign(document.createElement("button"), { type: "button", className: "link", textContent: "Undo" });
      button.addEventListener("click", undo);
      toast.append(" ", button);
    }
    toast.hidden = false;
    clearTimeout(showTimer);
    showTimer = setTimeout(() => { toast.hidden = true; }, undo ? 20_000 : 8000);
  }

  // A new preview takes back what the preview had to say, not what was wrong with a file.
  function complain(message, from = "") {
    problem.textContent = message;
    problem.hidden = !message;
    problem.dataset.from = from;
  }

  // Asking the server

  async function ask(path, fields, signal) {
    return fetch(path, {
      method: "POST",
      body: fields,
      headers: { "X-Part": "1" },
      signal,
    });
  }

  // The preview

  function later() {
    stale = true;
    holder.classList.add("old");
    keep();
    clearTimeout(timer);
    timer = setTimeout(refresh, WAIT);
  }

  async function refresh(quietly = false) {
    clearTimeout(timer);
    if (running) running.abort();
    const mine = (running = new AbortController());
    wait(true);
    try {
      // Of a long text the first words come at once.
      if (words(text.value) > SOON && !(await show(mine, true))) return;
      if (!(await show(mine, false))) return;
    } catch (error) {
      if (error.name !== "AbortError") complain("drillgen has stopped. Start it again.", "preview");
      return;
    } finally {
      if (running === mine) wait(false);
    }
    stale = false;
    holder.classList.remove("old");
    if (problem.dataset.from === "preview") complain("");
    if (!quietly) {
      const { sentences, doubts } = byId("preview").dataset;
      const count = (n, one) => `${n} ${one}${n === "1" ? "" : "s"}`;
      say(`Preview updated: ${count(sentences, "sentence")}, ${count(doubts, "word")} to check.`);
    }
  }

  const words = (value) => value.split(/\s+/).length;

  // True if the preview is there.
  async function show(mine, first) {
    const fields = fieldsOf(work);
    if (first) fields.set("first", "1");
    const answer = await ask("/preview", fields, mine.signal);
    if (!answer.ok) {
      complain(await reasonOf(answer), "preview");
      return false;
    }
    const html = await answer.text();
    if (mine.signal.aborted) return false;
    const held = document.activeElement;
    const at = holder.contains(held) && held.classList.contains("word") ? held.id : "";
    holder.innerHTML = html;
    if (at && byId(at)) byId(at).focus({ preventScroll: true });
    const top = Number(byId("preview").dataset.top);
    const wasFull = slider.value === slider.max;
    slider.max = top;
    if (wasFull) slider.value = top;
    slide();
    rove();
    return true;
  }

  // What takes longer than a moment is said, on the screen and aloud.

  let waiting = 0;
  function wait(on) {
    clearTimeout(waiting);
    if (on) {
      waiting = setTimeout(() => {
        byId("working").hidden = false;
        byId("working").textContent = stale ? "Working… what stands below is from before." : "Working…";
      }, 400);
    } else {
      byId("working").hidden = true;
      byId("working").textContent = "";
    }
  }

  function slide() {
    const preview = byId("preview");
    preview.dataset.show = slider.value;
    const version = preview.querySelector(`.version.v${slider.value} .name`);
    if (version) slider.setAttribute("aria-valuetext", version.textContent);
  }

  // Words: one stop for the Tab key, arrows inside

  const buttons = () => [...holder.querySelectorAll("button.word")];

  function rove(current) {
    const all = buttons();
    const held = dialog.open ? byId(openedAt) : document.activeElement;
    const first = current || all.find((word) => word === held) || all[0];
    for (const word of all) word.tabIndex = word === first ? 0 : -1;
  }

  holder.addEventListener("keydown", (event) => {
    const here = event.target.closest("button.word");
    if (!here || event.altKey || event.ctrlKey || event.metaKey) return;
    const all = buttons();
    const i = all.indexOf(here);
    const steps = {
      ArrowRight: i + 1,
      ArrowLeft: i - 1,
      Home: all.indexOf(here.closest("li").querySelector("button.word")),
      End: all.indexOf([...here.closest("li").querySelectorAll("button.word")].pop()),
      ArrowDown: nextLine(all, i, 1),
      ArrowUp: nextLine(all, i, -1),
    };
    if (!(event.key in steps)) return;
    event.preventDefault();
    const next = all[Math.min(Math.max(steps[event.key], 0), all.length - 1)];
    rove(next);
    next.focus();
  });

  function nextLine(all, i, way) {
    // The word that stands closest on the next line of the screen.
    const from = all[i].getBoundingClientRect();
    let best = i;
    let line = null;
    let distance = Infinity;
    for (let k = i + way; k >= 0 && k < all.length; k += way) {
      const box = all[k].getBoundingClientRect();
      if (Math.abs(box.bottom - from.bottom) < 8) continue;
      if (line === null) line = box.bottom;
      if (Math.abs(box.bottom - line) >= 8) break;
      const away = Math.abs(box.left - from.left);
      if (away < distance) [best, distance] = [k, away];
    }
    return best;
  }

  holder.addEventListener("click", (event) => {
    const link = event.target.closest('a[href^="#w"]');
    const word = link && byId(link.hash.slice(1));
    if (!word) return;
    event.preventDefault();
    word.scrollIntoView({ block: "center" });
    openWord(word);
  });

  // One word

  let openedAt = "";

  async function openWord(button) {
    openedAt = button.id;
    rove(button);
    const fields = fieldsOf(work, button);
    fields.set("part", "1");
    const answer = await ask("/word", fields);
    if (!answer.ok) {
      complain(await reasonOf(answer));
      if (stale) refresh();
      return;
    }
    fill(await answer.text());
    if (!dialog.open) dialog.showModal();
    byId("word-title").focus();
  }

  function fill(html) {
    dialog.innerHTML = html;
    for (const close of dialog.querySelectorAll(".close")) close.type = "button";
  }

  dialog.addEventListener("click", (event) => {
    if (event.target === dialog || event.target.closest(".close")) dialog.close();
    if (event.target.closest(".hear")) hear(event.target.closest("form"));
    const link = event.target.closest('a[href^="#w"]');
    if (!link) return;
    // Another place of a homograph: the same choice for that one.
    event.preventDefault();
    const word = byId(link.hash.slice(1));
    if (word) openWord(word);
  });
  let sound = null;
  async function hear(form) {
    const fields = fieldsOf(work);
    for (const [name, value] of fieldsOf(form)) fields.set(name, value);
    const wrong = form.querySelector(".own .bad");
    wrong.hidden = true;
    sound = sound || new AudioContext();
    await sound.resume();
    const answer = await ask("/hear", fields);
    if (answer.ok) {
      const buffer = await sound.decodeAudioData(await answer.arrayBuffer());
      const playing = new AudioBufferSourceNode(sound, { buffer });
      playing.connect(sound.destination);
      playing.start();
    } else {
      wrong.textContent = await reasonOf(answer);
      wrong.hidden = false;
    }
  }

  dialog.addEventListener("input", (event) => {
    if (event.target.name === "own") {
      event.target.form.querySelector('[name="choice"][value="own"]').checked = true;
    }
  });
  dialog.addEventListener("close", () => {
    dialog.textContent = "";
    const word = byId(openedAt);
    // The browser gives the focus back itself, unless the preview was renewed meanwhile.
    // This event comes late: a key may have moved the focus on already.
    if (word && document.activeElement === document.body) word.focus();
  });

  dialog.addEventListener("submit", async (event) => {
    event.preventDefault();
    const form = event.target;
    const fields = fieldsOf(work);
    for (const [name, value] of fieldsOf(form, event.submitter)) fields.set(name, value);
    fields.set("part", "1");
    const answer = await ask("/keep", fields);
    const kind = answer.headers.get("content-type") || "";
    if (answer.ok) {
      const { done, undo } = await answer.json();
      await refresh(true);
      dialog.close();
      tell(done, () => takeBack(fields, undo));
    } else if (kind.startsWith("text/html")) {
      fill(await answer.text());
      const wrong = dialog.querySelector('[aria-invalid="true"]');
      if (wrong) wrong.focus();
    } else {
      dialog.close();
      complain(await reasonOf(answer));
    }
  });

  async function takeBack(fields, undo) {
    for (const [name, value] of Object.entries({ ...undo, act: "undo" })) fields.set(name, value);
    const answer = await ask("/keep", fields);
    if (answer.ok) tell((await answer.json()).done);
    else complain((answer.headers.get("content-type") || "").startsWith("text/html") ? "It can’t be undone." : await reasonOf(answer));
    await refresh(true);
    const word = byId(openedAt);
    if (word) word.focus();
  }

  // The form

  work.addEventListener("submit", (event) => {
    const button = event.submitter;
    const path = button && button.hasAttribute("formaction") ? button.getAttribute("formaction") : "/";
    const makes = ["/download", "/share", "/practise", "/record", "/check"].includes(path);
    if (!text.value.trim() && makes) {
      event.preventDefault();
      tell("There is no text yet. Paste one, or choose a passage.");
      text.focus();
      return;
    }
    if (button && button.formTarget) openTab(button, complain);
    if (makes && path !== "/download") return;
    event.preventDefault();
    if (path === "/download") download(button);
    else if (path === "/word") openWord(button);
    else if (button && button.name === "take") take(button.value);
    else refresh();
  });

  async function download(button) {
    tell("The file is being made.");
    complain("");
    try {
      const answer = await send(work, button);
      if (answer.ok) tell(`${await saveFile(answer)} is ready.`);
      else complain(await reasonOf(answer));
    } catch {
      complain("drillgen has stopped. Start it again.");
    }
  }

  work.addEventListener("input", (event) => {
    if (event.target === slider) {
      slide();
      keep();
    } else if (event.target === text) {
      delete text.dataset.sample;
      complain("");
      later();
    } else if (!["passage", "prompt", "file"].includes(event.target.id)) later();
    if (event.target.id === "accent") listTargets(event.target.value);
    showNow();
  });

  // Beside the drill the choices have a scroll of their own: what opens is brought to sight.
  work.querySelector(".write").addEventListener("toggle", (event) => {
    if (event.target.open) event.target.scrollIntoView({ block: "nearest" });
  }, true);

  // Texts

  // The text stays in this browser, so that a reload or a closed tab loses nothing; each
  // tab has its own, and a new one begins with the last. With discreet wording nothing is
  // kept. A browser may forbid all of this.

  const STORES = ["sessionStorage", "localStorage"];
  function forget() {
    for (const store of STORES) window[store].removeItem(STORE);
  }
  addEventListener("storage", (event) => {
    if (event.key === STORE && event.newValue === null) sessionStorage.removeItem(STORE);
  });

  function keep() {
    const fields = [...fieldsOf(work)].filter(([name]) => !["passage", "prompt"].includes(name));
    const discreet = byId("discreet").checked;
    markDiscreet(discreet);
    const own = text.value.trim() && !("sample" in text.dataset) && !discreet;
    try {
      if (own) for (const store of STORES) window[store].setItem(STORE, JSON.stringify(fields));
      else if (discreet) forget();
      else {
        // Other tabs keep theirs.
        sessionStorage.removeItem(STORE);
        localStorage.setItem(STORE, "null");
      }
      byId("kept").hidden = !own;
    } catch {
      byId("kept").hidden = true;
    }
  }

  function restore() {
    if (!("sample" in text.dataset)) return false;
    const sent = readStore();
    if (!sent || !sent.get("text")) return false;
    for (const box of work.querySelectorAll("input[type=checkbox]")) box.checked = sent.has(box.name);
    for (const [name, value] of sent) {
      const field = work.elements[name];
      if (name === "accent") listTargets(value);
      if (field && field.type !== "checkbox") field.value = value;
    }
    question.textContent = sent.get("asked") || "";
    question.hidden = !question.textContent;
    delete text.dataset.sample;
    byId("kept").hidden = false;
    return true;
  }

  byId("forget").addEventListener("click", () => {
    text.value = "";
    replaced = null;
    byId("back").hidden = true;
    put("", "", "");
    try {
      forget();
    } catch { /* It was never kept. */ }
    byId("kept").hidden = true;
    tell("Your text is forgotten.");
    text.focus();
  });

  function setText(value, asked) {
    if (text.value.trim() && !("sample" in text.dataset)) {
      replaced = { value: text.value, title: byId("title").value, asked: byId("asked").value };
    }
    put(value, "", asked);
    byId("back").hidden = replaced === null;
  }

  function put(value, title, asked) {
    text.value = value;
    byId("title").value = title;
    byId("asked").value = asked;
    question.textContent = asked;
    question.hidden = !asked;
    delete text.dataset.sample;
    refresh();
    showNow();
    keep();
  }

  byId("clear").addEventListener("click", () => {
    setText("", "");
    text.focus();
  });
  byId("back").addEventListener("click", () => {
    if (replaced) put(replaced.value, replaced.title, replaced.asked);
    replaced = null;
    byId("back").hidden = true;
    text.focus();
  });

  async function take(kind) {
    const key = byId(kind).value;
    const query = new URLSearchParams({ kind, key });
    const answer = await fetch(`/text?${query}`, { headers: { "X-Part": "1" } });
    if (!answer.ok) {
      complain(await reasonOf(answer));
      return;
    }
    const found = await answer.json();
    setText(found.text, found.prompt);
  }

  // Pasting over our sample replaces it as a whole.
  text.addEventListener("paste", () => {
    if ("sample" in text.dataset) text.select();
  });

  async function read(file) {
    if (!file) return;
    if (file.size > LARGEST) {
      complain("This file is larger than 16 MB. Give a shorter one.");
      return;
    }
    wait(true);
    try {
      const answer = await askFile(file);
      if (!answer.ok) {
        complain(await reasonOf(answer));
        return;
      }
      const found = await answer.json();
      complain("");
      setText(found.text, "");
      text.focus();
      if (found.told.length) tell(found.told.join(" "));
    } catch {
      complain("This file can’t be read. Save it as plain text and try again.");
    } finally {
      wait(false);
    }
  }

  byId("open").addEventListener("click", () => byId("file").click());
  byId("file").addEventListener("change", (event) => {
    read(event.target.files[0]);
    event.target.value = "";
  });
  document.addEventListener("dragover", (event) => {
    if (!event.dataTransfer.types.includes("Files")) return;
    event.preventDefault();
    text.classList.add("over");
  });
  document.addEventListener("dragleave", (event) => {
    if (!event.relatedTarget) text.classList.remove("over");
  });
  document.addEventListener("drop", (event) => {
    text.classList.remove("over");
    if (!event.dataTransfer.files.length) return;
    event.preventDefault();
    read(event.dataTransfer.files[0]);
  });

  const sent = !("sample" in text.dataset);
  const restored = restore() || isDiscreet();
  if (isDiscreet()) byId("discreet").checked = true;
  followClient(work, (message) => {
    later();
    tell(message);
  }, complain);
  showNow();
  slide();
  rove();
  if (restored) refresh(true);
  if (sent) {
    keep();
    // What is kept comes back by itself: a reload need not send the form again.
    if (!byId("kept").hidden) history.replaceState(null, "", "/");
  }
})();
