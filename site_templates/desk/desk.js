"use strict";
/* The desk: rows are typed, checked and logged here. Every rule is the program's; this only asks it. */
(function () {
  const FIELDS = ["craft", "person", "on", "shot", "take", "frames", "poses_on", "minutes", "share", "note"];
  const RARE = ["wait_minutes", "started_on", "private"]; /* below the others, where they are asked for */
  const COMPLETED = ["craft", "person", "on", "shot", "stage"];
  const SHOWN = 8;
  const CHECK_AFTER = 150;
  const LOOK_EVERY = 3000;
  const QUESTIONS_AFTER = 800;
  const body = document.body;
  const day = body.dataset.day;
  const byId = (id) => document.getElementById(id);
  const make = (tag, properties, ...inside) => {
    const made = Object.assign(document.createElement(tag), properties);
    made.append(...inside);
    return made;
  };
  const copyOf = (id) => byId(id).content.cloneNode(true);
  const say = (text) => { byId("said").textContent = text; };

  /* ---- asking the program ---- */
  const SILENT = "The desk does not answer. What is typed stays here; is it still running?";
  let isSilent = false;
  const ask = async (address, options) => {
    let answer;
    try {
      answer = await fetch(address, { credentials: "same-origin", ...options });
    } catch {
      isSilent = true;
      say(SILENT);
      return null;
    }
    if (isSilent) { isSilent = false; say(""); }
    let found = null;
    try { found = await answer.json(); } catch { /* said below */ }
    if (found === null) { say("The desk gave no answer that can be read."); return null; }
    if (answer.status === 401) { say("The desk was started anew. Open the address that it printed; copy what you typed first."); return null; }
    return found;
  };
  const post = (address, value) => ask(address, {
    method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ day, ...value }),
  });

  /* ---- words that a field completes ---- */
  const fold = (text) => text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase().replace(/\s+/g, " ").trim();
  let words = {};
  let wordsKnown = null;
  const readWords = async (known) => {
    if (known === wordsKnown) return;
    const found = await ask("/words", {});
    if (found === null || found.problems) return;
    wordsKnown = known;
    words = Object.fromEntries(Object.entries(found).map(([field, own]) =>
      [field, own.map(([word, code, beside]) => ({ word, code, beside, texts: [code, word, beside].map(fold) }))]));
    // Who typed before the words were there is offered them now.
    const input = document.activeElement;
    if (input && COMPLETED.includes(input.name) && input.value.trim() && list.hidden) openList(input);
  };
  const usedIn = (input) => {
    const place = input.closest(".place");
    const cells = place ? place.querySelectorAll(`[data-field="${input.name}"]`) : [];
    return new Set([...cells].map((cell) => fold(cell.textContent)));
  };
  const likeness = (item, typed) => {
    const [code, word, beside] = item.texts;
    if (code === typed || word === typed) return 0;
    if (code.startsWith(typed) || word.startsWith(typed)) return 1;
    if ([code, word, beside].some((text) => text.split(/[\s-]/).some((part) => part.startsWith(typed)))) return 2;
    return [code, word].some((text) => text.includes(typed)) ? 3 : -1;
  };
  const fitting = (input) => {
    const typed = fold(input.value);
    const used = usedIn(input);
    return (words[input.name] || [])
      .map((item, at) => [likeness(item, typed), used.has(item.texts[1]) ? 0 : 1, at, item])
      .filter((hit) => hit[0] >= 0 && (typed || hit[0] < 3))
      .sort((a, b) => (a[0] === 0 || b[0] === 0 ? a[0] - b[0] : 0) || a[1] - b[1] || a[0] - b[0] || a[2] - b[2])
      .slice(0, SHOWN).map((hit) => hit[3]);
  };

  const list = byId("list");
  let offered = { input: null, items: [], at: -1 };
  const closeList = () => {
    if (offered.input) {
      offered.input.setAttribute("aria-expanded", "false");
      offered.input.removeAttribute("aria-activedescendant");
    }
    offered = { input: null, items: [], at: -1 };
    list.hidden = true;
  };
  const markOffered = (at) => {
    offered.at = at;
    [...list.children].forEach((item, place) => item.setAttribute("aria-selected", String(place === at)));
    if (at >= 0) {
      offered.input.setAttribute("aria-activedescendant", list.children[at].id);
      list.children[at].scrollIntoView({ block: "nearest" });
    } else offered.input.removeAttribute("aria-activedescendant");
  };
  const take = (at) => {
    const { input, items } = offered;
    closeList();
    if (items[at]) {
      input.value = items[at].word;
      input.dispatchEvent(new Event("taken", { bubbles: true }));
    }
  };
  const openList = (input) => {
    const items = fitting(input);
    closeList();
    if (!items.length) return;
    offered = { input, items, at: -1 };
    list.replaceChildren(...items.map((item, at) => {
      const beside = [item.code === item.word ? "" : item.code, item.beside === item.word ? "" : item.beside];
      const line = make("li", { id: `word-${at}` }, make("bdi", { textContent: item.word }),
        make("small", { textContent: beside.filter(Boolean).join(", ") }));
      line.setAttribute("role", "option");
      line.addEventListener("mousedown", (event) => { event.preventDefault(); take(at); });
      return line;
    }));
    const box = input.getBoundingClientRect();
    list.hidden = false;
    list.style.left = `${Math.max(0, Math.min(box.left + scrollX, scrollX + innerWidth - list.offsetWidth - 8))}px`;
    list.style.top = `${box.bottom + scrollY + 2}px`;
    input.setAttribute("aria-expanded", "true");
    markOffered(input.value.trim() ? 0 : -1);
  };
  const completes = (input) => {
    input.setAttribute("role", "combobox");
    input.setAttribute("aria-autocomplete", "list");
    input.setAttribute("aria-expanded", "false");
    input.setAttribute("aria-controls", "list");
    input.addEventListener("input", () => (input.value.trim() ? openList(input) : closeList()));
    input.addEventListener("blur", closeList);
  };
  /* Whether the key was for the list. */
  const keyOfList = (event) => {
    const input = event.target;
    const isOpen = offered.input === input;
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (step && !event.altKey && COMPLETED.includes(input.name)) {
      event.preventDefault();
      if (!isOpen) { openList(input); if (offered.input) markOffered(0); return true; }
      markOffered((offered.at + step + offered.items.length) % offered.items.length);
      return true;
    }
    if (!isOpen) return false;
    if (event.key === "Escape") { event.preventDefault(); closeList(); return true; }
    if (event.key === "Tab" && offered.at >= 0 && !event.shiftKey) { take(offered.at); return true; }
    if (event.key === "Enter" && offered.at >= 0) { event.preventDefault(); take(offered.at); return true; }
    return false;
  };

  /* ---- a row that is being typed: a new one, or a correction ---- */
  let rowsMade = 0;
  class TypedRow {
    constructor(place, rows) {
      this.id = ++rowsMade;
      this.place = place;
      this.rows = rows;
      this.inputs = Object.fromEntries(rows.flatMap((row) => [...row.querySelectorAll("input")])
        .map((input) => [input.name, input]));
      this.more = rows.map((row) => row.querySelector("ul")).find(Boolean);
      this.touched = new Set();
      this.isTried = false;
      this.again = false;
      this.asked = 0;
      this.read = null;
      this.notes = [];
      Object.values(this.inputs).forEach((input) => {
        if (COMPLETED.includes(input.name)) completes(input);
        const changed = () => {
          this.touched.add(input.name);
          this.again = false;
          this.checkSoon();
        };
        input.addEventListener("input", changed);
        input.addEventListener("taken", changed);
        input.addEventListener("blur", () => { if (this.read && this.touched.has(input.name)) this.show(this.read, this.notes); });
        input.addEventListener("focus", () => {
          if (input.value.endsWith("-")) input.setSelectionRange(input.value.length, input.value.length);
          else input.select();
        });
      });
    }

    get fields() {
      return Object.fromEntries(Object.entries(this.inputs).map(([name, input]) => [name, input.value])
        .filter(([name, value]) => name !== "why" && value.trim()));
    }

    fill(fields, isTouched = false) {
      Object.entries(this.inputs).forEach(([name, input]) => {
        input.value = fields[name] || "";
        if (isTouched && input.value) this.touched.add(name);
      });
      if (RARE.some((name) => this.inputs[name] && this.inputs[name].value)) this.showRare();
    }

    empty() {
      this.unasked();
      this.fill({});
      this.touched.clear();
      this.isTried = this.again = false;
      this.show({ wrong: {}, meant: {}, said: null });
    }

    showRare() { this.inputs[RARE[0]].closest("tr").hidden = false; }

    more_() {
      this.showRare();
      this.inputs[RARE[0]].focus();
    }

    remove() { this.rows.forEach((row) => row.remove()); }

    /* What was asked about the row as it was is no answer any more. */
    unasked() {
      clearTimeout(this.timer);
      return ++this.asked;
    }

    checkSoon() {
      clearTimeout(this.timer);
      this.timer = setTimeout(() => this.check(), CHECK_AFTER);
    }

    async check() {
      const asked = this.unasked();
      const found = await post("/check", { place: this.place, rows: [this.fields] });
      if (found && found.rows && asked === this.asked) this.show(found.rows[0]);
    }

    show(read, notes = []) {
      this.read = read;
      this.notes = notes;
      const shown = [];
      Object.entries(this.inputs).forEach(([name, input]) => {
        const isOn = offered.input !== input && (this.isTried || (this.touched.has(name) && input.value.trim()));
        const wrong = isOn && read.wrong[name];
        input.toggleAttribute("aria-invalid", false);
        input.removeAttribute("aria-describedby");
        if (!wrong) return;
        const id = `wrong-${this.id}-${name}`;
        input.setAttribute("aria-invalid", "true");
        input.setAttribute("aria-describedby", id);
        shown.push(make("li", { id, className: "wrong" }, make("bdi", { dir: "ltr", textContent: `${input.getAttribute("aria-label") || name}: ${wrong}` })));
      });
      Object.entries(read.wrong).filter(([name]) => !(name in this.inputs) && this.isTried)
        .forEach(([name, text]) => shown.push(make("li", { className: "wrong" }, make("bdi", { dir: "ltr", textContent: [name, text].filter(Boolean).join(": ") }))));
      const meant = Object.entries(read.meant).filter(([name]) => this.touched.has(name)).map(([, text]) => text);
      if (meant.length) shown.push(make("li", { className: "meant" }, make("bdi", { textContent: meant.join("; ") })));
      if (read.said && !this.again) shown.push(make("li", { className: "lacks", textContent: `${read.said} says this already.` }));
      notes.forEach((text) => shown.push(make("li", { className: "lacks", textContent: text })));
      this.more.replaceChildren(...shown);
    }

    focusWrong() {
      const first = [...FIELDS, ...RARE].find((name) => this.inputs[name] && this.inputs[name].hasAttribute("aria-invalid"));
      if (first) this.inputs[first].focus();
      return Boolean(first);
    }
  }

  /* ---- the foot of each place's table ---- */
  const feet = new Map();
  let isWriting = false;
  class Foot {
    constructor(section) {
      this.section = section;
      this.key = section.dataset.place;
      this.body = section.querySelector(".drafts");
      this.typed = [];
      this.copied = -1;
      this.add(JSON.parse(section.dataset.begun)[0] || {});
    }

    add(fields, isTouched = false) {
      const rows = [...copyOf("draft").children];
      this.body.append(...rows);
      const row = new TypedRow(this.key, rows);
      row.fill(fields, isTouched);
      this.typed.push(row);
      rows[0].querySelector("[data-log]").addEventListener("click", () => this.log());
      rows[0].querySelector("[data-clear]").addEventListener("click", () => { this.clear(row); });
      rows[0].querySelector("[data-more]").addEventListener("click", () => row.more_());
      rows.forEach((each) => each.addEventListener("keydown", (event) => this.key_(event, row)));
      rows[0].addEventListener("paste", (event) => this.paste(event, row));
      return row;
    }

    clear(row) {
      if (this.typed.length > 1) {
        this.typed = this.typed.filter((other) => other !== row);
        row.remove();
        this.typed[0].inputs.craft.focus();
      } else {
        row.empty();
        row.inputs.craft.focus();
      }
    }

    key_(event, row) {
      if (!(event.target instanceof HTMLInputElement)) return;
      if (event.ctrlKey && event.key.toLowerCase() === "d") {
        event.preventDefault();
        this.fillDown(event.target, row);
      } else if (event.ctrlKey && (event.key === "Home" || event.key === "End")) {
        event.preventDefault();
        row.inputs[event.key === "Home" ? FIELDS[0] : FIELDS[FIELDS.length - 1]].focus();
      } else if (event.altKey && event.key.toLowerCase() === "m") {
        event.preventDefault();
        row.more_();
      } else if (event.altKey && event.key === "ArrowUp") {
        event.preventDefault();
        this.copyBefore(row);
      } else if (event.altKey && (event.key === "PageDown" || event.key === "PageUp")) {
        event.preventDefault();
        this.other(event.key === "PageDown" ? 1 : -1);
      } else if (keyOfList(event)) { /* done */ }
      else if (event.key === "Enter" && !event.isComposing) {
        event.preventDefault();
        this.log();
      } else if (event.key === "Escape") this.clear(row);
    }

    other(step) {
      const places = [...document.querySelectorAll(".place:not([hidden])")];
      const section = places[(places.indexOf(this.section) + step + places.length) % places.length];
      const foot = feet.get(section.dataset.place);
      section.scrollIntoView({ block: "start" });
      foot.focusLikely(foot.typed[0]);
    }

    fillDown(input, row) {
      const above = this.typed[this.typed.indexOf(row) - 1];
      const entries = [...this.section.querySelectorAll(".entry:not(.void)")];
      const cell = entries.length ? entries[entries.length - 1].querySelector(`[data-field="${input.name}"]`) : null;
      const value = above ? above.inputs[input.name].value : cell ? cell.textContent : "";
      if (!value) { say("There is nothing above to copy."); return; }
      closeList();
      input.value = value;
      input.dispatchEvent(new Event("taken", { bubbles: true }));
    }

    /* What a row of the day before says, with the frames that come next where they are known. */
    begins(cells) {
      const fields = Object.fromEntries([...cells].map((cell) => [cell.dataset.field, cell.textContent]));
      const begun = JSON.parse(this.section.dataset.begun).find((row) =>
        ["craft", "person", "on"].every((name) => (row[name] || "") === (fields[name] || "")));
      if (begun) return begun;
      ["frames", "minutes", "note"].forEach((name) => delete fields[name]);
      return fields;
    }

    copyBefore(row, line) {
      const lines = [...this.section.querySelectorAll("tr[data-before]")];
      if (!lines.length) { say("This place has nothing from the days before."); return; }
      this.copied = line ? lines.indexOf(line) : (this.copied + 1) % lines.length;
      row.empty();
      row.fill(this.begins(lines[this.copied].querySelectorAll("[data-field]")), true);
      row.check();
      this.focusLikely(row);
    }

    focusLikely(row) {
      const { frames, minutes, person, craft } = row.inputs;
      (frames.value ? frames : person.value ? minutes : craft).focus();
    }

    paste(event, row) {
      const text = event.clipboardData.getData("text/plain").replace(/\r\n?/g, "\n").replace(/\n$/, "");
      if (!/[\t\n]/.test(text) || !(event.target instanceof HTMLInputElement)) return;
      event.preventDefault();
      closeList();
      const lines = cellsOf(text);
      const head = lines[0].map((cell) => HEADS[fold(cell).replace(/[ _]+/g, " ")]);
      const first = FIELDS.indexOf(event.target.name);
      const isHeaded = head.includes("craft") && head.includes("person");
      const names = isHeaded ? head : FIELDS.slice(Math.max(first, 0));
      const left = isHeaded ? lines[0].filter((_, at) => !head[at]) : [];
      const made = lines.slice(isHeaded ? 1 : 0).filter((line) => line.some((cell) => cell.trim())).map((line) => {
        const fields = {};
        line.forEach((cell, at) => {
          const name = names[at];
          if (!name || !cell.trim()) return;
          fields[name] = name === "on" && fields.on ? `${fields.on}, ${cell.trim()}` : cell.trim();
        });
        return this.add(fields, true);
      });
      if (!made.length) return;
      made[0].inputs.craft.focus();
      if (!row.touched.size) { this.typed = this.typed.filter((other) => other !== row); row.remove(); }
      this.checkAll(made).then(() => made.find((each) => each.focusWrong()));
      say([`${made.length} rows to log: Enter logs them together.`, left.length ? `Not taken: ${left.join(", ")}.` : ""].join(" ").trim());
    }

    async checkAll(rows) {
      const asked = rows.map((row) => row.unasked());
      const found = await post("/check", { place: this.key, rows: rows.map((row) => row.fields) });
      if (!found || !found.rows) return;
      rows.forEach((row, at) => {
        if (row.asked !== asked[at]) return;
        row.isTried = true;
        row.show(found.rows[at]);
      });
    }

    async log() {
      if (isWriting) return;
      const rows = this.typed.filter((row) => row.touched.size && Object.keys(row.fields).length);
      if (!rows.length) { say("Nothing has been typed in this row yet."); return; }
      isWriting = true;
      rows.forEach((row) => row.unasked());
      const found = await post("/log", {
        place: this.key, rows: rows.map((row) => row.fields), again: rows.some((row) => row.again), by: by.value,
      });
      isWriting = false;
      if (found === null) return;
      if (found.problems) { say(found.problems.join(" ")); return; }
      if (found.rows) { this.refused(rows, found); return; }
      this.typed = this.typed.filter((row) => !rows.includes(row));
      rows.forEach((row) => row.remove());
      const next = this.typed[0] || this.add(found.next);
      this.copied = -1;
      written(found);
      this.focusLikely(next);
    }

    refused(rows, found) {
      const note = "Enter logs it once more; or change the row.";
      rows.forEach((row, at) => {
        row.isTried = true;
        row.again = found.repeats;
        const read = found.rows[at];
        row.show(found.repeats ? { ...read, said: null } : read,
          found.repeats ? [read.said ? `${read.said} says this already. ${note}` : `A row here is repeated. ${note}`] : []);
      });
      if (!rows.find((row) => row.focusWrong())) say(found.repeats ? `Said already. ${note}` : "");
      else say("Not logged: something in the row is not right.");
    }
  }

  const HEADS = {
    craft: "craft", person: "person", who: "person", name: "person", on: "on", "on what": "on", character: "on",
    puppet: "on", part: "on", shot: "shot", take: "take", frames: "frames", "poses on": "poses_on", poses: "poses_on",
    minutes: "minutes", share: "share", note: "note", notes: "note",
    "wait minutes": "wait_minutes", "minutes waited": "wait_minutes", waited: "wait_minutes",
    "started on": "started_on", "begun on": "started_on", private: "private",
  };
  /* The cells of text from a spreadsheet: tabs, lines, and quotes around cells that hold these. */
  const cellsOf = (text) => {
    const lines = [[""]];
    let isQuoted = false;
    for (let at = 0; at < text.length; at++) {
      const line = lines[lines.length - 1];
      const sign = text[at];
      if (isQuoted && sign === '"' && text[at + 1] === '"') { line[line.length - 1] += '"'; at++; }
      else if (sign === '"' && (isQuoted || !line[line.length - 1])) isQuoted = !isQuoted;
      else if (!isQuoted && sign === "\t") line.push("");
      else if (!isQuoted && sign === "\n") lines.push([""]);
      else line[line.length - 1] += sign;
    }
    return lines;
  };

  /* ---- corrections in place ---- */
  const corrections = new Map();
  const leave = (entry) => {
    const row = corrections.get(entry);
    corrections.delete(entry);
    if (row) row.remove();
    entry.querySelectorAll("[hidden]").forEach((each) => { each.hidden = false; });
    if (entry.dataset.gone) entry.remove();
  };
  const correct = (entry, templates, send) => {
    if (corrections.has(entry)) { leave(entry); return null; }
    const rows = templates.flatMap((id) => [...copyOf(id).children]);
    const at = entry.rows[0];
    at.after(...rows);
    const row = new TypedRow("", rows);
    corrections.set(entry, row);
    const act = async () => {
      if (isWriting) return;
      isWriting = true;
      const found = await send(row);
      isWriting = false;
      if (found === null) return;
      if (found.problems) { row.show({ wrong: {}, meant: {}, said: null }, found.problems); say(found.problems.join(" ")); return; }
      if (found.rows) { row.isTried = true; row.show({ ...found.rows[0], said: null }); row.focusWrong(); return; }
      leave(entry);
      written(found);
      const number = Object.keys(found.answers)[0];
      const now = number && document.querySelector(`.entry[data-entry="${CSS.escape(number)}"] [data-amend]`);
      const foot = feet.get(place);
      (now || (foot && foot.typed[0].inputs.craft) || byId("content")).focus();
    };
    const section = entry.closest(".place");
    const place = section ? section.dataset.place : "";
    rows.forEach((each) => each.addEventListener("keydown", (event) => {
      if (!(event.target instanceof HTMLInputElement) || keyOfList(event)) return;
      if (event.key === "Enter" && !event.isComposing) { event.preventDefault(); act(); }
      else if (event.key === "Escape") { leave(entry); const button = entry.querySelector("[data-amend]"); if (button) button.focus(); }
    }));
    const [yes, no] = ["[data-log]", "[data-clear]"].map((name) => rows.map((each) => each.querySelector(name)).find(Boolean));
    yes.addEventListener("click", act);
    no.addEventListener("click", () => leave(entry));
    return row;
  };
  const amend = (entry) => {
    const was = Object.fromEntries([...entry.rows[0].querySelectorAll("[data-field]")].map((cell) => [cell.dataset.field, cell.textContent]));
    Object.assign(was, Object.fromEntries(RARE.map((name) => [name, ""])), JSON.parse(entry.dataset.rare));
    Object.assign(was, { finished_on: entry.dataset.day, stage: entry.dataset.stage });
    const row = correct(entry, ["draft", "also"], (typed) => {
      const fields = {};
      [...FIELDS, ...RARE, "finished_on", "stage"].forEach((name) => {
        if (typed.inputs[name].value.trim() !== was[name].trim()) fields[name] = typed.inputs[name].value;
      });
      return post("/amend", { number: entry.dataset.entry, fields, why: typed.inputs.why.value, by: by.value });
    });
    if (!row) return;
    row.fill(was);
    const [log, empty] = ["[data-log]", "[data-clear]"].map((name) => row.rows[0].querySelector(name));
    log.textContent = "Amend";
    empty.textContent = "Leave";
    row.rows[0].querySelector("[data-more]").remove();
    row.showRare();
    entry.rows[0].hidden = true;
    row.inputs.craft.focus();
  };
  const voided = (entry) => {
    const row = correct(entry, ["voiding"], (typed) =>
      post("/void", { number: entry.dataset.entry, why: typed.inputs.why.value, by: by.value }));
    if (row) row.inputs.why.focus();
  };

  /* ---- what the program says of the day, put in place without disturbing what is typed ---- */
  const sources = new WeakMap();
  const remember = (element) => sources.set(element, element.outerHTML);
  const answers = new Map();
  const moreOf = (entry) => {
    let more = [...entry.querySelectorAll(".more ul")].pop();
    if (!more) {
      more = make("ul", {});
      entry.append(make("tr", { className: "more" }, make("td", { colSpan: 11 }, more)));
    }
    return more;
  };
  const withAnswer = (entry) => {
    const answer = answers.get(entry.dataset.entry);
    if (!answer || !answer.text || entry.matches(".void") || entry.querySelector(".answer")) return;
    moreOf(entry).prepend(make("li", { className: "answer" }, make("bdi", { dir: "ltr", textContent: answer.text })));
  };
  const placeEntries = (section, fresh) => {
    const table = section.querySelector("table.day");
    const foot = table.querySelector(".drafts");
    const there = new Map([...table.querySelectorAll(":scope > .entry")].map((entry) => [entry.dataset.entry, entry]));
    let added = 0;
    /* From the last to the first, so that what stands in its place is not moved: moved, it would
       lose the focus of whoever types in it. */
    let after = foot;
    const put = (entry) => {
      if (entry.nextElementSibling !== after) table.insertBefore(entry, after);
      after = entry;
    };
    [...fresh].reverse().forEach((entry) => {
      const old = there.get(entry.dataset.entry);
      there.delete(entry.dataset.entry);
      if (old && (corrections.has(old) || sources.get(old) === entry.outerHTML)) { put(old); return; }
      const held = old && old.contains(document.activeElement) ? document.activeElement.getAttribute("aria-label") : null;
      remember(entry);
      if (!old) { entry.classList.add("fresh"); added++; }
      put(entry);
      const asked = old ? [...old.querySelectorAll(".question")].map((item) => item.textContent) : [];
      if (old) old.remove();
      if (held) { const again = [...entry.querySelectorAll("button")].find((each) => each.getAttribute("aria-label") === held); if (again) again.focus(); }
      withAnswer(entry);
      if (asked.length) withQuestions(entry, asked);
    });
    there.forEach((entry) => {
      if (!corrections.has(entry)) { entry.remove(); return; }
      entry.dataset.gone = "yes";
      say(`${entry.dataset.entry} was corrected by somebody else meanwhile.`);
    });
    return added;
  };
  const renewed = (html) => {
    const parsed = document.createElement("template");
    parsed.innerHTML = html;
    let added = 0;
    parsed.content.querySelectorAll("section").forEach((section) => {
      const old = byId(section.id);
      if (!old) { byId("undated").before(section); prepare(section); return; }
      const entries = [...section.querySelectorAll(":scope > table > .entry")];
      added += placeEntries(old, entries);
      if (!section.hidden && old.hidden) old.hidden = false;
      if (section.id === "undated") old.hidden = section.hidden;
      if (section.dataset.begun !== undefined) old.dataset.begun = section.dataset.begun;
      section.querySelectorAll("[data-part]").forEach((part) => {
        const shown = old.querySelector(`[data-part="${part.dataset.part}"]`);
        if (!shown || sources.get(shown) === part.outerHTML || shown.contains(document.activeElement)) return;
        const source = part.outerHTML;
        const details = [shown, part].map((each) => each.querySelector("details"));
        if (details[0] && details[1]) details[1].open = details[0].open;
        shown.replaceWith(part);
        sources.set(part, source);
      });
    });
    return added;
  };
  const showDay = (found) => {
    body.dataset.position = found.position;
    byId("summary").textContent = found.summary;
    readWords(found.words);
    return renewed(found.html);
  };
  const rowOf = (html) => {
    const parsed = document.createElement("template");
    parsed.innerHTML = `<table>${html}</table>`;
    return parsed.content.querySelector(".entry");
  };
  let timesWritten = 0;
  const written = (found) => {
    timesWritten++;
    const said = [];
    document.querySelectorAll(".fresh").forEach((entry) => entry.classList.remove("fresh"));
    Object.entries(found.answers || {}).forEach(([number, answer]) => {
      answers.set(number, answer);
      said.push([`${number}:`, answer.text, ...answer.questions].join(" "));
      const section = byId(answer.place);
      const entry = rowOf(answer.html);
      if (!section || !entry || entry.dataset.day !== day) return;
      section.hidden = false;
      remember(entry);
      entry.classList.add("fresh");
      section.querySelector(".drafts").before(entry);
      withAnswer(entry);
      withQuestions(entry, answer.questions);
    });
    say([found.undone || "", ...said].join(" ").trim());
    look();
  };

  /* Questions take longer than rows: they are asked for when nobody has typed for a moment. */
  let questionsTimer = null;
  const withQuestions = (entry, texts) => {
    entry.querySelectorAll(".question").forEach((item) => item.remove());
    if (texts.length) moreOf(entry).append(...texts.map((text) =>
      make("li", { className: "question" }, make("bdi", { dir: "ltr", textContent: text }))));
  };
  const askQuestions = async () => {
    if (isWriting) { questionsSoon(); return; }
    const found = await ask(`/questions?day=${day}`, {});
    if (!found || !found.questions) return;
    if (found.position !== body.dataset.position) { questionsSoon(); return; }
    document.querySelectorAll(".entry").forEach((entry) => withQuestions(entry, found.questions[entry.dataset.entry] || []));
    byId("asked").textContent = found.count ? `${found.count} open ${found.count === 1 ? "question" : "questions"}.` : "";
  };
  const questionsSoon = () => {
    clearTimeout(questionsTimer);
    questionsTimer = setTimeout(askQuestions, QUESTIONS_AFTER);
  };

  let isLooking = false;
  const look = async () => {
    if (isWriting || isLooking || document.hidden) return;
    isLooking = true;
    const known = body.dataset.position;
    const before = timesWritten;
    const found = await ask(`/since?day=${day}&position=${known}`, {});
    isLooking = false;
    if (isWriting) return;
    /* What was written meanwhile may not be in it, and would go from the page. */
    if (before !== timesWritten) { look(); return; }
    if (!found || !found.moved) return;
    const added = showDay(found);
    questionsSoon();
    if (added) say(`${added} ${added === 1 ? "entry" : "entries"} of others came in.`);
  };

  /* ---- a sheet, dropped or chosen ---- */
  const report = byId("report");
  let sheet = null;
  const load = async (write) => {
    if (!sheet) return;
    if (sheet.size > Number(body.dataset.largest)) { say("The sheet is larger than 20 MB."); return; }
    say(write ? "Writing …" : `Reading ${sheet.name} …`);
    const choices = Object.fromEntries([...report.querySelectorAll("[data-choice]")]
      .filter((each) => each.type !== "checkbox" || each.checked).map((each) => [each.name, each.value]));
    const asked = new URLSearchParams({ ...choices, name: sheet.name, ...(write ? { write: "1" } : {}) });
    const found = await ask(`/load?${asked}`, { method: "POST", headers: { "Content-Type": "application/octet-stream" }, body: sheet });
    if (found === null) return;
    if (found.problems) { say(found.problems.join(" ")); return; }
    say("");
    report.innerHTML = found.html;
    report.hidden = false;
    report.focus();
    report.scrollIntoView({ block: "start" });
    if (write) look();
  };
  report.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || !event.target.matches("[data-choice]")) return;
    event.preventDefault();
    load(false);
  });
  report.addEventListener("click", (event) => {
    if (event.target.matches("[data-write]")) load(true);
    else if (event.target.matches("[data-again]")) load(false);
    else if (event.target.matches("[data-close]")) { report.hidden = true; sheet = null; byId("sheet").focus(); }
  });
  const takeSheet = ([file]) => {
    sheet = file;
    report.replaceChildren(); /* what was chosen is of the sheet before */
    load(false);
  };
  byId("sheet").addEventListener("change", (event) => {
    takeSheet(event.target.files);
    event.target.value = "";
  });
  addEventListener("dragover", (event) => { event.preventDefault(); body.classList.add("dropping"); });
  addEventListener("dragleave", (event) => { if (!event.relatedTarget) body.classList.remove("dropping"); });
  addEventListener("drop", (event) => {
    event.preventDefault();
    body.classList.remove("dropping");
    if (event.dataTransfer.files.length) takeSheet(event.dataTransfer.files);
  });

  /* ---- the page ---- */
  const by = byId("by");
  try { by.value = localStorage.getItem("desk-by") || ""; } catch { /* not remembered */ }
  by.addEventListener("change", () => { try { localStorage.setItem("desk-by", by.value); } catch { /* not remembered */ } });
  const prepare = (section) => {
    section.querySelectorAll(":scope > table > .entry, [data-part]").forEach(remember);
    if (section.dataset.place) feet.set(section.dataset.place, new Foot(section));
  };
  document.querySelectorAll("#day > section").forEach(prepare);
  byId("day").addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    const entry = button.closest(".entry");
    if (button.matches("[data-amend]")) amend(entry);
    else if (button.matches("[data-void]")) voided(entry);
    else if (button.matches("[data-copy]")) {
      const foot = feet.get(button.closest(".place").dataset.place);
      const row = foot.typed.length === 1 ? foot.typed[0] : foot.add({});
      foot.copyBefore(row, button.closest("tr"));
    }
  });
  const undo = async () => {
    if (isWriting) return;
    isWriting = true;
    const found = await post("/undo", { by: by.value });
    isWriting = false;
    if (found === null) return;
    if (found.problems) say(found.problems.join(" "));
    else written(found);
  };
  byId("undo").addEventListener("click", undo);
  addEventListener("keydown", (event) => {
    if (event.altKey && event.key.toLowerCase() === "z") { event.preventDefault(); undo(); }
  });
  byId("another").addEventListener("change", (event) => {
    const section = byId(event.target.value);
    if (!section) return;
    section.hidden = false;
    event.target.value = "";
    feet.get(section.dataset.place).typed[0].inputs.craft.focus();
  });
  addEventListener("beforeunload", (event) => {
    const isTyped = [...feet.values()].some((foot) => foot.typed.some((row) => row.touched.size));
    if (isTyped || corrections.size) event.preventDefault();
  });
  const firstFoot = feet.get((document.querySelector(".place:not([hidden])") || body).dataset.place);
  if (firstFoot && matchMedia("(pointer: fine)").matches) firstFoot.typed[0].inputs.craft.focus({ preventScroll: true });
  readWords(body.dataset.words);
  askQuestions();
  setInterval(look, LOOK_EVERY);
  addEventListener("focus", look);
})();
