"use strict";
/* Scripts only add: a jump box, sortable tables, a field that finds rows, their CSV, copying, light and dark. Everything a page says is in its HTML. */
(function () {
  const self = document.currentScript;
  const root = self ? self.dataset.root : "";
  const alphabet = self && self.dataset.alphabet ? self.dataset.alphabet : undefined;
  const make = (tag, properties) => Object.assign(document.createElement(tag), properties);

  /* ---- light and dark ---- */
  const html = document.documentElement;
  const remembered = () => { try { return localStorage.getItem("ground"); } catch { return null; } };
  const show = (ground) => {
    html.toggleAttribute("data-dark", ground === "dark");
    html.toggleAttribute("data-light", ground === "light");
  };
  show(remembered());
  const isDark = () => html.hasAttribute("data-dark")
    || (!html.hasAttribute("data-light") && matchMedia("(prefers-color-scheme: dark)").matches);

  /* ---- names are compared folded, the same way as the index was ---- */
  const folded = () => window.CREDITS_FOLDING || { erased: "[]", folds: {}, blank: "\\s+" };
  const fold = (text) => {
    const rule = folded();
    const plain = text.normalize("NFKD").toLowerCase().replace(new RegExp(rule.erased, "g"), "");
    return Array.from(plain).map((c) => (c in rule.folds ? rule.folds[c] : c)).join("")
      .replace(new RegExp(rule.blank, "g"), " ").trim().normalize("NFKD");
  };

  const places = () => window.CREDITS_JUMP || [];
  let index = null;
  const indexed = () => index || (index = places().map((place) => {
    const text = fold([place[1], place[2], place[4]].join(" "));
    const words = text.split(" ");
    return { place, text, words: [...new Set([...words, ...text.split(/[^\p{L}\p{M}\p{N}]+/u)])].filter(Boolean) };
  }));
  let loading = null;
  const loaded = () => loading || (loading = new Promise((done) => {
    const script = make("script", { src: root + "jump.js", onload: done, onerror: done });
    document.head.append(script);
  }));

  const rank = (one, words) => {
    if (!words.every((word) => one.text.includes(word))) return -1;
    if (one.text.startsWith(words[0])) return 0;
    return one.text.includes(" " + words[0]) ? 1 : 2;
  };

  /* ---- a mistyped letter, or one too many, too few, or two exchanged, is forgiven: one in a short
     word, two in a long one, none in figures, which would be another shot ---- */
  const figures = (word) => word.replace(/\P{N}/gu, "");
  const away = (typed, word, most, begun) => {
    if (word.length < typed.length - most || (!begun && word.length > typed.length + most)) return most + 1;
    let before = null;
    let row = Array.from({ length: word.length + 1 }, (_, at) => at);
    for (let i = 1; i <= typed.length; i++) {
      const next = [i];
      for (let j = 1; j <= word.length; j++) {
        const same = typed[i - 1] === word[j - 1];
        next[j] = Math.min(row[j] + 1, next[j - 1] + 1, row[j - 1] + (same ? 0 : 1));
        if (before && j > 1 && typed[i - 1] === word[j - 2] && typed[i - 2] === word[j - 1]) {
          next[j] = Math.min(next[j], before[j - 2] + 1);
        }
      }
      if (Math.min(...next) > most) return most + 1;
      [before, row] = [row, next];
    }
    return begun ? Math.min(...row) : row[word.length];
  };
  const forgiven = (one, typed) => {
    if (one.text.includes(typed)) return 0;
    const most = typed.length < 3 ? 0 : typed.length < 7 ? 1 : 2;
    const said = figures(typed);
    let least = most + 1;
    for (const word of one.words) {
      if (!least || !most) break;
      if (figures(word) !== said) continue;
      least = Math.min(least, away(typed, word, most, false), typed.length > 4 ? away(typed, word, most, true) : least);
    }
    return least <= most ? least : Infinity;
  };
  const sorted = (found) => found.sort((a, b) => a[0] - b[0] || a[1] - b[1]).slice(0, 12).map((hit) => hit[2]);
  /* What is called so; else what is nearly called so. */
  const search = (typed) => {
    const words = fold(typed).split(" ").filter(Boolean);
    if (!words.length) return { hits: [], near: false };
    const hits = sorted(indexed().map((one, at) => [rank(one, words), at, one.place]).filter((hit) => hit[0] >= 0));
    if (hits.length) return { hits, near: false };
    const near = indexed().map((one, at) => [words.reduce((sum, word) => sum + forgiven(one, word), 0), at, one.place]);
    return { hits: sorted(near.filter((hit) => hit[0] < Infinity)), near: true };
  };

  const jumpBox = (tools) => {
    const input = make("input", { type: "search", placeholder: "jump to …", autocomplete: "off", spellcheck: false });
    input.setAttribute("role", "combobox");
    input.setAttribute("aria-label", "Jump to a page by a name, a code or a word");
    input.setAttribute("aria-expanded", "false");
    input.setAttribute("aria-controls", "found");
    input.setAttribute("aria-autocomplete", "list");
    const list = make("ul", { className: "found", id: "found", hidden: true });
    list.setAttribute("role", "listbox");
    list.setAttribute("aria-label", "Places found");
    let hits = [];
    let near = false;
    let chosen = 0;
    let looked = "";
    const go = (at) => { if (hits[at]) location.href = root + hits[at][3]; };
    const draw = () => {
      list.replaceChildren(...hits.map((hit, at) => {
        const item = make("li", { id: "found-" + at });
        item.setAttribute("role", "option");
        item.setAttribute("aria-selected", String(at === chosen));
        const name = make("bdi", { textContent: hit[1] });
        item.append(name, make("small", { textContent: [hit[0], hit[2]].filter(Boolean).join(", ") }));
        item.addEventListener("mousedown", (event) => { event.preventDefault(); go(at); });
        return item;
      }));
      if ((near || !hits.length) && input.value.trim()) {
        const said = hits.length ? "Nothing is called that. Nearly:" : "Nothing is called that.";
        const none = make("li", { className: "none", textContent: said });
        none.setAttribute("role", "option");
        none.setAttribute("aria-disabled", "true");
        none.setAttribute("aria-selected", "false");
        list.prepend(none);
      }
      list.hidden = !input.value.trim();
      input.setAttribute("aria-expanded", String(!list.hidden));
      if (hits.length) input.setAttribute("aria-activedescendant", "found-" + chosen);
      else input.removeAttribute("aria-activedescendant");
    };
    const look = () => loaded().then(() => {
      if (input.value === looked) return;
      looked = input.value;
      ({ hits, near } = search(looked));
      chosen = 0;
      draw();
    });
    input.addEventListener("focus", loaded);
    input.addEventListener("input", look);
    input.addEventListener("blur", () => { list.hidden = true; input.setAttribute("aria-expanded", "false"); });
    input.addEventListener("keydown", (event) => {
      const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
      if (step && hits.length) {
        event.preventDefault();
        chosen = (chosen + step + hits.length) % hits.length;
        draw();
        document.getElementById("found-" + chosen).scrollIntoView({ block: "nearest" });
      } else if (event.key === "Enter") { event.preventDefault(); look().then(() => go(chosen)); }
      else if (event.key === "Escape") { input.value = looked = ""; hits = []; draw(); }
    });
    document.addEventListener("keydown", (event) => {
      if (event.key === "/" && !/^(INPUT|TEXTAREA|SELECT)$/.test(document.activeElement.tagName)) {
        event.preventDefault();
        input.focus();
      }
    });
    tools.append(input, list);
  };

  const groundButton = (tools) => {
    const button = make("button", { type: "button" });
    const name = () => { button.textContent = isDark() ? "light" : "dark"; };
    button.addEventListener("click", () => {
      const next = isDark() ? "light" : "dark";
      try { localStorage.setItem("ground", next); } catch { /* a page from disk may not remember */ }
      show(next);
      name();
    });
    name();
    tools.append(button);
  };

  /* ---- tables sort by a click on a heading; figures by their value, names as the page has them ---- */
  const months = ["January", "February", "March", "April", "May", "June", "July", "August",
    "September", "October", "November", "December"];
  const value = (cell) => {
    const text = cell.dataset.sort !== undefined ? cell.dataset.sort : cell.textContent.trim();
    const day = /^(\d{1,2}) ([A-Z][a-z]+) (\d{4})\b/.exec(text);
    if (day && months.includes(day[2])) {
      return [day[3], String(months.indexOf(day[2]) + 1).padStart(2, "0"), day[1].padStart(2, "0")].join("-");
    }
    if (/^\d+(:\d\d)+$/.test(text)) return text.split(":").reduce((sum, part) => 60 * sum + Number(part), 0);
    const number = Number(text.replace(/,/g, ""));
    return text !== "" && !Number.isNaN(number) ? number : text;
  };
  const compare = (a, b) => {
    if (a === "" || b === "") return (a === "") - (b === "");
    if (typeof a === "number" && typeof b === "number") return a - b;
    return String(a).localeCompare(String(b), alphabet, { numeric: true });
  };
  const sortable = (table) => {
    const heads = [...table.tHead.rows[0].cells];
    const body = table.tBodies[0];
    const original = [...body.rows];
    heads.forEach((head, column) => {
      const button = make("button", { type: "button" });
      button.append(...head.childNodes);
      head.append(button);
      button.addEventListener("click", () => {
        const was = head.getAttribute("aria-sort");
        heads.forEach((other) => other.removeAttribute("aria-sort"));
        if (was === "descending") { body.append(...original); return; }
        const way = was === "ascending" ? -1 : 1;
        head.setAttribute("aria-sort", way === 1 ? "ascending" : "descending");
        const rows = original.map((row, at) => [value(row.cells[column]), at, row]);
        rows.sort((a, b) => {
          const blank = (a[0] === "") - (b[0] === "");
          return blank || way * compare(a[0], b[0]) || a[1] - b[1];
        });
        body.append(...rows.map((row) => row[2]));
      });
    });
  };

  /* ---- a table shows only the rows in which every word stands that is typed above it: each as the
     beginning of a word, those in quotes as whole words side by side; the words stay in the address ---- */
  const plainly = (text) => ` ${fold(text).replace(/[^\p{L}\p{M}\p{N}]+/gu, " ").trim()} `;
  const sought = (typed) => [...typed.matchAll(/"([^"]*)"?|\S+/g)].map((one) => (
    one[1] === undefined ? plainly(one[0]).trimEnd() : plainly(one[1]))).filter((word) => word.trim());
  const findField = (place) => {
    const table = place.querySelector("table");
    const what = place.dataset.find;
    const rows = [...table.tBodies].flatMap((body) => [...body.rows]);
    const input = make("input", {
      type: "search", id: "find", autocomplete: "off", spellcheck: false, placeholder: "a name, a stage, a status, any words",
    });
    const label = make("label", { htmlFor: "find", textContent: `Find ${what}` });
    const said = make("span", {});
    said.setAttribute("role", "status");
    const line = make("p", { className: "find by-script" });
    line.append(label, input, said);
    let texts = null;
    let known = null;
    const show = () => {
      if (!texts || known !== folded()) {
        known = folded();
        texts = rows.map((row) => plainly([...row.cells].map((cell) => cell.textContent).join(" | ")));
      }
      const words = sought(input.value);
      let found = 0;
      rows.forEach((row, at) => {
        row.hidden = !words.every((word) => texts[at].includes(word));
        found += !row.hidden;
      });
      if (table.tFoot) table.tFoot.hidden = words.length > 0;
      said.textContent = words.length ? `${found.toLocaleString("en")} of ${rows.length.toLocaleString("en")} ${what}` : "";
      fitted();
    };
    const address = () => {
      const typed = input.value.trim();
      return location.href.split("#")[0] + (typed ? "#find=" + encodeURIComponent(typed) : "");
    };
    const follow = () => {
      const [key, typed] = location.hash.slice(1).split(/=(.*)/s);
      if (key !== "find") return;
      try { input.value = decodeURIComponent(typed || ""); } catch { input.value = typed; }
      if (input.value) loaded().then(show);
      show();
      line.scrollIntoView({ block: "start" });
    };
    input.addEventListener("focus", () => loaded().then(show));
    input.addEventListener("input", () => { history.replaceState(null, "", address()); show(); });
    input.addEventListener("keydown", (event) => {
      if (event.key !== "Escape" || !input.value) return;
      event.preventDefault();
      input.value = "";
      input.dispatchEvent(new Event("input"));
    });
    addEventListener("hashchange", follow);
    place.prepend(line);
    follow();
  };

  /* ---- the strip of a shot is a slider: under it stands who animated the frame under the pointer,
     with which copy, then everybody else; the address leads to the frame ---- */
  const ranges = (text) => [...text.matchAll(/(\d+)(?:-(\d+))?/g)].map((m) => [+m[1], +(m[2] || m[1])]);
  const handsIn = (listed) => [...listed.querySelectorAll(".hands dd")].flatMap((line) => {
    const heading = line.closest(".hands").querySelector("h3");
    const through = line.querySelector("i");
    const about = {
      character: heading.firstElementChild.textContent,
      craft: line.parentNode.querySelector("dt").textContent,
      animated: line.parentNode.className === "animated",
      copy: through ? through.textContent : "",
    };
    let own = { ...about, people: [], frames: ranges(heading.querySelector(".range").textContent) };
    const found = [own];
    line.childNodes.forEach((node) => {
      if (node.nodeName === "B") found.push(own = { ...about, people: [], frames: ranges(node.textContent) });
      else if (node.nodeName === "#text") own.people.push(...node.textContent.split(/[,;] /).map((name) => name.trim()).filter(Boolean));
      else if (node.nodeName !== "I") own.people.push(node.textContent);
    });
    return found.filter((part) => part.people.length);
  });
  const told = (frame, rows) => {
    const here = rows.filter((row) => row.frames.some((r) => r[0] <= frame && frame <= r[1]));
    const said = [make("b", { textContent: `Frame ${frame}. ` })];
    const names = (people) => [...new Set(people)].forEach((person, n) => said.push(n ? ", " : "", make("bdi", { textContent: person })));
    const animated = here.filter((row) => row.animated);
    if (!animated.length) said.push("Nobody animated it yet. ");
    [...new Set(animated.map((row) => row.character))].forEach((character, n) => {
      said.push(n ? "; " : "", make("b", { textContent: character }), " animated by ");
      animated.filter((row) => row.character === character).forEach((row, place) => {
        said.push(place ? ", " : "");
        names(row.people);
        if (row.copy) said.push(" with ", make("bdi", { textContent: row.copy }));
      });
    });
    const others = here.filter((row) => !row.animated);
    if (others.length) said.push(make("br"));
    [...new Set(others.map((row) => row.craft))].forEach((craft, n) => {
      said.push(n ? "; " : "", `${craft} `);
      names(others.filter((row) => row.craft === craft).flatMap((row) => row.people));
    });
    return said;
  };
  const handsLine = (line, number) => {
    const listed = document.getElementById(line.dataset.handsOf);
    const wrap = line.previousElementSibling;
    const strip = wrap && wrap.querySelector(".drawn");
    const track = strip && strip.querySelector(".bars");
    if (!listed || !track) return;
    const first = Number(strip.dataset.first);
    const last = Number(strip.dataset.stop) - 1;
    const rows = handsIn(listed);
    const changes = [...new Set([first, ...rows.flatMap((row) => row.frames.flatMap((r) => [r[0], r[1] + 1]))])]
      .filter((frame) => frame >= first && frame <= last).sort((a, b) => a - b);
    const drawn = (name) => document.createElementNS("http://www.w3.org/2000/svg", name);
    const over = drawn("svg");
    const cursor = over.appendChild(drawn("line"));
    over.setAttribute("class", "scale over");
    cursor.setAttribute("class", "cursor");
    cursor.setAttribute("y2", "100%");
    const ending = number ? `-take-${line.dataset.take}` : "";  // the first strip needs none
    let at = null;
    let keeping = 0;
    const keep = () => {
      if (!keeping) keeping = setTimeout(() => { keeping = 0; history.replaceState(null, "", `#f${at}${ending}`); }, 400);
    };
    const show = (wanted) => {
      const frame = Math.min(Math.max(wanted, first), last);
      if (frame === at) return;
      at = frame;
      const x = `${(100 * (frame + 0.5 - first)) / (last + 1 - first)}%`;
      cursor.setAttribute("x1", x);
      cursor.setAttribute("x2", x);
      strip.append(over);
      line.replaceChildren(...told(frame, rows));
      line.scrollTop = 0;
      strip.setAttribute("aria-valuenow", String(frame));
      strip.setAttribute("aria-valuetext", line.textContent);
    };
    const point = (event) => {
      const box = track.getBoundingClientRect();
      const frame = Math.floor(first + (event.clientX - box.left) * (last + 1 - first) / box.width);
      if (frame < first - 1 || frame > last + 1) return;
      show(frame);
      keep();
    };
    strip.addEventListener("pointermove", point);
    strip.addEventListener("pointerdown", point);
    strip.addEventListener("keydown", (event) => {
      const to = {
        ArrowRight: () => event.shiftKey ? changes.find((frame) => frame > at) : at + 1,
        ArrowLeft: () => event.shiftKey ? changes.filter((frame) => frame < at).pop() : at - 1,
        Home: () => first,
        End: () => last,
      }[event.key];
      if (!to || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      const next = at === null && event.key !== "End" ? first : to();
      if (next === undefined) return;
      show(next);
      keep();
    });
    const fromAddress = () => {
      const asked = /^#f(\d{1,9})(?:-take-(\d{1,9}))?$/.exec(location.hash);
      if (!asked || (asked[2] ? asked[2] !== line.dataset.take : number)) return;
      show(Number(asked[1]));
      wrap.scrollIntoView({ block: "nearest" });
    };
    const named = { role: "slider", tabindex: "0", "aria-valuemin": first, "aria-valuemax": last, "aria-valuenow": first };
    Object.entries(named).forEach(([name, value]) => strip.setAttribute(name, String(value)));
    strip.setAttribute("aria-label", `Frame: ${strip.getAttribute("aria-label")}`);
    strip.setAttribute("aria-valuetext", line.textContent);
    strip.classList.add("moves");
    line.classList.add("fixed");
    line.tabIndex = 0;
    line.append(make("span", { className: "by-script", textContent: " Point at a frame, or move with the arrow keys: one frame, with Shift to the next change." }));
    addEventListener("hashchange", fromAddress);
    fromAddress();
  };

  /* ---- a table as CSV: what it shows, figures as figures, nothing that a spreadsheet would run ---- */
  const FEWEST_ROWS = 5;
  const formula = /^ *[=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20]/;
  /* The class of a table names its columns of figures, counted from the last. */
  const isFigure = (cell) => {
    const row = [...cell.parentNode.children];
    return cell.classList.contains("n") || cell.closest("table").classList.contains(`n${row.length - row.indexOf(cell)}`);
  };
  const csvCell = (cell) => {
    if (!cell) return "";
    const text = cell.innerText.replace(/\s+/g, " ").trim();
    const plain = text.replace(/,(?=\d{3}\b)/g, "");
    if (isFigure(cell) && /^-?\d+(\.\d+)?$/.test(plain)) return plain;
    return '"' + (formula.test(text) ? "'" : "") + text.replace(/"/g, '""') + '"';
  };
  /* A cell that reaches over several rows or columns stands in each of them. */
  const grid = (rows) => {
    const lines = rows.map(() => []);
    rows.forEach((row, y) => [...row.cells].forEach((cell) => {
      let x = 0;
      while (lines[y][x]) x += 1;
      for (let down = 0; down < cell.rowSpan && y + down < rows.length; down++) {
        for (let over = 0; over < cell.colSpan; over++) lines[y + down][x + over] = cell;
      }
    }));
    return lines;
  };
  const csvOf = (table) => {
    const heads = grid([...table.tHead.rows]);
    const last = heads[heads.length - 1];
    const named = last.map((_, x) => heads.map((line) => line[x] ? line[x].innerText.trim() : "").filter(Boolean).join(", "));
    const head = named.map((text) => '"' + text.replace(/\s+/g, " ").replace(/"/g, '""') + '"');
    const rows = [...table.tBodies].flatMap((body) => grid([...body.rows].filter((row) => !row.hidden)));
    const lines = [head, ...rows.map((line) => line.map(csvCell))].map((line) => line.join(","));
    return "\ufeff" + lines.join("\r\n") + "\r\n";
  };
  const csvButton = (table) => {
    const rows = [...table.tBodies].reduce((sum, body) => sum + body.rows.length, 0);
    const wrap = table.closest(".wrap");
    if (!wrap || !table.tHead || rows < FEWEST_ROWS) return;
    const name = table.caption ? table.caption.textContent.trim() : "table";
    const button = make("button", { type: "button", textContent: "CSV" });
    button.setAttribute("aria-label", `CSV: ${name}`);
    button.addEventListener("click", () => {
      const file = URL.createObjectURL(new Blob([csvOf(table)], { type: "text/csv;charset=utf-8" }));
      const page = document.querySelector("h1").textContent.trim();
      const called = [...new Set([page, name])].join(", ").replace(/[\\/:*?"<>|\x00-\x1f]+/g, " ").slice(0, 100);
      const link = make("a", { href: file, download: called.trim() + ".csv" });
      document.body.append(link);
      link.click();
      link.remove();
      setTimeout(() => URL.revokeObjectURL(file), 60000);
    });
    const line = make("p", { className: "by-script" });
    line.append(button);
    wrap.after(line);
  };

  /* ---- a text or a link to be passed on is copied, or, where that is not allowed, marked ---- */
  const marked = (element) => {
    const range = document.createRange();
    range.selectNodeContents(element);
    const selection = getSelection();
    selection.removeAllRanges();
    selection.addRange(range);
  };
  const copied = async (element) => {
    const text = element.href || element.textContent.trim();
    try { await navigator.clipboard.writeText(text); return true; } catch { /* not allowed, or not there */ }
    const shown = element.textContent;
    if (element.href) element.textContent = text;
    marked(element);
    let done = false;
    try { done = document.execCommand("copy"); } catch { /* nor this */ }
    if (done) { element.textContent = shown; getSelection().removeAllRanges(); }
    return done;
  };
  const copyButton = (element) => {
    const what = element.dataset.copy;
    const button = make("button", { type: "button", textContent: "Copy" });
    button.setAttribute("aria-label", `Copy ${what}`);
    const said = make("span", { className: "said" });
    said.setAttribute("role", "status");
    button.addEventListener("click", async () => {
      said.textContent = await copied(element) ? " Copied." : " Marked: copy it with Ctrl+C or ⌘C.";
    });
    const beside = make("span", { className: "by-script" });
    beside.append(button, said);
    element.after(beside);
  };

  /* ---- a table that fits keeps its head in the window; a wider one scrolls in its place ---- */
  const fitted = () => document.querySelectorAll(".wrap").forEach((wrap) => {
    const table = wrap.firstElementChild;
    if (!table || !table.offsetParent) return;
    const fits = table.offsetWidth <= wrap.clientWidth;
    wrap.classList.toggle("fits", fits);
    wrap.classList.toggle("wide", !fits);
  });
  fitted();
  addEventListener("resize", fitted);
  document.querySelectorAll("details").forEach((part) => part.addEventListener("toggle", fitted));

  /* ---- on paper everything is unfolded, in browsers too whose style sheets cannot do that ---- */
  if (!CSS.supports("selector(::details-content)")) {
    let opened = [];
    addEventListener("beforeprint", () => {
      opened = [...document.querySelectorAll("details:not([open])")];
      opened.forEach((part) => { part.open = true; });
    });
    addEventListener("afterprint", () => opened.forEach((part) => { part.open = false; }));
  }

  const tools = document.querySelector("[data-tools]");
  if (tools) { jumpBox(tools); groundButton(tools); tools.hidden = false; }
  document.querySelectorAll("[data-hands-of]").forEach(handsLine);
  document.querySelectorAll("[data-copy]").forEach(copyButton);
  document.querySelectorAll("[data-find]").forEach(findField);
  document.querySelectorAll("main table").forEach(csvButton);
  document.querySelectorAll("table.sortable").forEach((table) => { if (table.tBodies.length === 1) sortable(table); });
})();
