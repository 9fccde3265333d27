"use strict";
/* The slider of the film page. The data of a sequence, and of a person, is fetched when it is first wanted. */
(function () {
  const data = window.creditsFilm;
  const [stage, strip, label] = ["film", "film-strip", "film-label"].map((part) => document.querySelector(`[data-${part}]`));
  if (!data || !data.index || !stage) return;
  const { length, rate, pieces = [], stretches = [], people = [] } = data.index;
  const [rateOf, ratePer] = rate;
  const names = new Map(people);
  const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
  const make = (tag, properties, ...inside) => {
    const made = Object.assign(document.createElement(tag), properties);
    made.append(...inside);
    return made;
  };
  const button = (text, does) => {
    const made = make("button", { type: "button", textContent: text });
    made.addEventListener("click", does);
    return made;
  };

  /* ---- film time: whole seconds, and the frames since; frames are counted from 1 ---- */
  const secondOf = (frame) => Math.floor((frame - 1) * ratePer / rateOf);
  const beginOf = (second) => 1 + Math.ceil(second * rateOf / ratePer);
  const two = (number) => String(number).padStart(2, "0");
  const time = (frame) => {
    const second = secondOf(frame);
    const [hours, minutes] = [Math.floor(second / 3600), Math.floor(second / 60) % 60];
    const clock = hours ? `${hours}:${two(minutes)}:${two(second % 60)}` : `${minutes}:${two(second % 60)}`;
    return `${clock}+${two(frame - beginOf(second))}`;
  };
  const frameOf = (text) => {
    const found = /^(?:(\d+):)?(\d+):(\d+)(?:(?:\+|%2B| |%20)(\d+))?$/i.exec(text);
    if (!found) return null;
    const [hours, minutes, seconds, frames] = found.slice(1).map((part) => Number(part || 0));
    return inside(beginOf(3600 * hours + 60 * minutes + seconds) + frames);
  };
  const inside = (frame) => Math.min(Math.max(frame, 1), length);

  /* ---- data: each piece and each person is a script, which also a page from disk may fetch ---- */
  const fetched = new Map();
  const fetchScript = (path) => {
    if (!fetched.has(path)) fetched.set(path, new Promise((done) => {
      document.head.append(make("script", { src: path, onload: done, onerror: done }));
    }));
    return fetched.get(path);
  };
  const ready = new Map();
  /* Of places in a row the first is said, and the last with a minus. */
  const every = (places) => places.reduce((all, place) => {
    if (place >= 0) all.push(place); else for (let at = all.at(-1) + 1; at <= -place; at += 1) all.push(at);
    return all;
  }, []);
  const prepared = (piece) => {
    const { people: who = [], characters = [], crafts = [], rows = [], sets = [], clips = [] } = piece;
    return {
      name: piece.name || "", who, characters, crafts, rows, sets,
      clips: clips.map((clip) => {
        const parts = [];
        let at = clip.first;
        (clip.stretches || []).forEach(([count, set]) => { parts.push([at, at + count, set]); at += count; });
        return [clip.first, at, { ...clip, parts }];
      }),
    };
  };
  const pieceAt = (place) => {
    const held = data.pieces[pieces[place]];
    if (held && !ready.has(place)) ready.set(place, prepared(held));
    return ready.get(place);
  };
  const fetchPiece = (place) => fetchScript(`film/${pieces[place]}.js`);

  /* ---- what is under a frame; stretches are [first, stop, what] in order ---- */
  const before = (list, frame) => {
    let [low, high] = [0, list.length];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (list[middle][0] <= frame) low = middle + 1; else high = middle;
    }
    return low - 1;
  };
  const found = (list, frame) => {
    for (let at = before(list, frame); at >= 0; at -= 1) if (frame < list[at][1]) return list[at];
    return null;
  };
  const looked = { stretch: null };
  const stretchAt = (frame) => {
    const last = looked.stretch;
    if (last && last[0] <= frame && frame < last[1]) return last;
    return (looked.stretch = found(stretches, frame));
  };
  const gapAt = (frame) => {
    const at = before(stretches, frame);
    const next = stretches[at + 1];
    return { first: at < 0 ? 1 : stretches[at][1], stop: next ? next[0] : length + 1 };
  };
  /* The part of the film around a frame in which nothing changes; null where it is not fetched yet. */
  const partAt = (frame) => {
    const stretch = stretchAt(frame);
    if (!stretch) return gapAt(frame);
    const piece = pieceAt(stretch[2]);
    if (!piece) return null;
    const clip = found(piece.clips, frame);
    if (!clip) return { first: stretch[0], stop: stretch[1] };
    const part = found(clip[2].parts, frame);
    return { first: part[0], stop: part[1], piece, clip: clip[2], set: part[2] };
  };
  const whenThere = (frame) => {
    const stretch = stretchAt(frame);
    return stretch && !pieceAt(stretch[2]) ? fetchPiece(stretch[2]) : Promise.resolve();
  };
  const shotFrame = (clip, frame) => {
    const [first, speed, of] = clip.source;
    const steps = (frame - clip.first) * Math.abs(speed) / of;
    return speed < 0 ? first - Math.floor(steps) : first + Math.floor(steps);
  };

  /* ---- what is shown ---- */
  let now = 1;
  let picked = "";
  let shown = null;
  const picture = make("div", { className: "film-picture" });
  stage.append(picture);
  const cursor = make("div", { className: "cursor" });
  const drawing = (tag) => document.createElementNS("http://www.w3.org/2000/svg", tag);
  const [lit, litPath] = [drawing("svg"), drawing("path")];
  lit.setAttribute("viewBox", "0 0 1000 1");
  lit.setAttribute("preserveAspectRatio", "none");
  lit.append(litPath);
  strip.querySelectorAll("a.band").forEach((band) => {
    const plain = make("span", { className: "band", title: band.title }, ...band.childNodes);
    plain.style.cssText = band.style.cssText;
    band.replaceWith(plain);
  });
  strip.append(lit, cursor);
  const at = make("p", { className: "film-at" });
  const where = make("p", { className: "film-where" });
  const said = make("p", { className: "aside film-said" });
  const hands = make("div", { className: "film-hands" });
  const controls = make("div", { className: "film-controls" });
  const about = make("p", { className: "film-picked" });
  about.setAttribute("aria-live", "polite");
  const keysSaid = `Keys on the strip: left and right go by a frame, with Shift by a change${still ? "" : "; space plays"}.`;
  label.append(
    make("div", { className: "film-head" }, at, where), said, controls, about, hands,
    make("p", { className: "aside film-keys", textContent: keysSaid }),
  );

  const nameOf = (piece, place) => {
    const [key, name] = piece.who[place];
    if (!key) return name;
    const made = make("button", { type: "button", className: "film-name" }, make("bdi", { textContent: name }));
    made.dataset.who = key;
    made.setAttribute("aria-pressed", String(key === picked));
    return made;
  };
  const drawHands = (part) => {
    const rows = part.set === undefined ? [] : every(part.piece.sets[part.set]).map((row) => part.piece.rows[row]);
    const sections = [];
    let bill = null;
    rows.forEach(([character, craft, ...who]) => {
      const [name, page] = part.piece.characters[character];
      if (craft === undefined) {
        bill = make("dl", { className: "bill" });
        const heading = make("h2", {}, make("a", { href: page }, make("bdi", { textContent: name })));
        sections.push(make("section", {}, heading, bill));
        return;
      }
      const line = make("dd", {});
      const comma = (n) => (n < who.length - 1 ? [","] : []);
      who.forEach((place, n) => line.append(make("span", {}, nameOf(part.piece, place), ...comma(n)), " "));
      bill.append(make("div", {}, make("dt", { textContent: part.piece.crafts[craft] }), line));
    });
    hands.replaceChildren(...sections);
    return [...new Set(rows.map(([character]) => part.piece.characters[character]))];
  };
  const drawPicture = (part, characters) => {
    const clip = part.clip;
    if (clip && clip.picture) {
      picture.replaceChildren(make("img", { src: `pictures/${clip.picture}`, alt: `Picture of shot ${clip.shot}` }));
      return;
    }
    const whom = characters.map(([name, , file]) => make("figure", {},
      ...(file ? [make("img", { src: `pictures/${file}`, alt: "" })] : []),
      make("figcaption", {}, make("bdi", { textContent: name }))));
    const nobody = clip ? "No animation is logged for these frames." : "Nothing here.";
    picture.replaceChildren(...(whom.length ? whom : [make("p", { textContent: nobody })]));
  };
  const shotNumber = make("span", {});
  const drawPart = (part) => {
    const clip = part.clip;
    shown = part;
    drawPicture(part, drawHands(part));
    said.textContent = clip && clip.said || "";
    said.hidden = !said.textContent;
    where.replaceChildren();
    if (!clip) where.append("Nothing here: the cut has no shot in these frames.");
    else if (clip.shot) {
      const shot = make("a", { href: clip.page }, make("bdi", { textContent: clip.shot }));
      where.append("Sequence ", make("bdi", { textContent: part.piece.name }), ". Shot ", shot, ", frame ", shotNumber, ".");
    }
  };
  const valueText = () => {
    const clip = shown && shown.clip;
    if (!clip) return `${time(now)}, ${shown ? "nothing here" : "reading"}`;
    return clip.shot ? `${time(now)}, shot ${clip.shot}, frame ${shotFrame(clip, now)}` : time(now);
  };
  const draw = () => {
    const part = partAt(now);
    cursor.style.left = `${100 * (now - 0.5) / length}%`;
    at.textContent = time(now);
    if (!part) {
      const wanted = stretchAt(now);
      fetchPiece(wanted[2]).then(() => {
        if (stretchAt(now) !== wanted) return;
        if (pieceAt(wanted[2])) { draw(); return; }
        stop();
        where.textContent = `The data of this sequence cannot be read: film/${pieces[wanted[2]]}.js.`;
      });
    } else {
      if (!shown || part.first !== shown.first || part.clip !== shown.clip) drawPart(part);
      if (part.clip && part.clip.shot) shotNumber.textContent = shotFrame(part.clip, now).toLocaleString("en");
    }
    strip.setAttribute("aria-valuenow", String(now));
    strip.setAttribute("aria-valuetext", valueText());
  };

  /* ---- the address of the frame, which a browser lets a page change only so often ---- */
  let keeping = 0;
  const address = () => `#t=${time(now)}${picked ? `&who=${picked}` : ""}`;
  const keep = () => {
    if (!keeping) keeping = setTimeout(() => { keeping = 0; history.replaceState(null, "", address()); }, 400);
  };
  const go = (frame) => {
    const next = inside(frame);
    if (next === now && shown) return;
    now = next;
    draw();
    keep();
  };
  const goToChange = (way) => {
    const from = now;
    const looking = way < 0 && shown && from === shown.first ? from - 1 : from;
    whenThere(inside(looking)).then(() => {
      const part = now === from && partAt(inside(looking));
      if (part) go(way > 0 ? part.stop : part.first);
    });
  };

  /* ---- play ---- */
  let playing = null;
  const play = button("Play", () => { if (playing) stop(); else start(); });
  const speed = make("select", {}, ...[["0.5", "half as fast"], ["1", "at speed"], ["2", "twice as fast"],
    ["4", "four times as fast"], ["10", "ten times as fast"]].map(([value, text]) => make("option", { value, textContent: text })));
  speed.value = "1";
  const stop = () => {
    if (playing) cancelAnimationFrame(playing.asked);
    playing = null;
    play.textContent = "Play";
  };
  const step = (moment) => {
    if (!playing) return;
    const stretch = stretchAt(now);
    // Held where the data is not there yet, or the window was out of sight: no frame is passed over.
    const held = stretch && !pieceAt(stretch[2]) || moment - playing.seen > 1000;
    if (held) Object.assign(playing, { from: now, since: moment });
    playing.seen = moment;
    const ahead = (moment - playing.since) / 1000 * rateOf / ratePer * Number(speed.value);
    go(playing.from + Math.floor(ahead));
    const soon = stretchAt(inside(now + Math.ceil(10 * Number(speed.value) * rateOf / ratePer)));
    if (soon) fetchPiece(soon[2]);
    if (now >= length) { stop(); return; }
    playing.asked = requestAnimationFrame(step);
  };
  const start = () => {
    if (still) return;
    if (now >= length) go(1);
    const since = performance.now();
    playing = { from: now, since, seen: since, asked: requestAnimationFrame(step) };
    play.textContent = "Stop";
  };
  speed.addEventListener("change", () => { if (playing) { stop(); start(); } });
  const byHand = (does) => () => { stop(); does(); };

  /* ---- a person picked out: where their work is on the whole strip ---- */
  const choice = make("select", { className: "film-choice" }, make("option", { value: "", textContent: "nobody picked out" }),
    ...people.map(([value, name]) => make("option", { value, textContent: name })));
  const drawLit = (own) => {
    let path = "";
    let end = 0;
    own.forEach(([first, last]) => {
      const from = Math.max(Math.round((first - 1) / length * 1000), end);
      end = Math.max(Math.round((last - 1) / length * 1000), from + 1);
      path += `M${from} 0H${end}V1H${from}Z`;
    });
    litPath.setAttribute("d", path);
  };
  const drawPicked = () => {
    label.querySelectorAll("[data-who]").forEach((name) => name.setAttribute("aria-pressed", String(name.dataset.who === picked)));
    choice.value = picked;
    about.replaceChildren();
    drawLit([]);
    if (!picked) return;
    const whose = picked;
    fetchScript(`film/people/${whose}.js`).then(() => {
      if (picked !== whose) return;
      const own = data.people[whose];
      const name = make("a", { href: `people/${whose}.html` }, make("bdi", { textContent: names.get(whose) }));
      if (!own) { about.replaceChildren("Where this person's work is cannot be read: ", `film/people/${whose}.js.`); return; }
      const stretchesOfTheirs = [];
      (own.lengths || []).reduce((from, count, turn) => {
        if (turn % 2) stretchesOfTheirs.push([from, from + count]);
        return from + count;
      }, 1);
      drawLit(stretchesOfTheirs);
      const next = button("Their next frames", byHand(() => {
        const ahead = stretchesOfTheirs.find(([first]) => first > now) || stretchesOfTheirs[0];
        go(ahead[0]);
      }));
      const count = own.frames === 1 ? "1 frame" : `${own.frames.toLocaleString("en")} frames`;
      about.replaceChildren(name, ` worked on ${count} of the film, marked on the strip. `, next, " ", button("Clear", () => pick("")));
    });
  };
  const pick = (key) => {
    picked = names.has(key) ? key : "";
    drawPicked();
    keep();
  };
  choice.addEventListener("change", () => pick(choice.value));
  hands.addEventListener("click", (event) => {
    const name = event.target.closest("[data-who]");
    if (name) pick(name.dataset.who === picked ? "" : name.dataset.who);
  });

  /* ---- the hand on it: keys, pointer, finger ---- */
  const second = Math.max(Math.round(rateOf / ratePer), 1);
  const keys = {
    ArrowLeft: () => go(now - 1), ArrowRight: () => go(now + 1),
    ArrowDown: () => go(now - second), ArrowUp: () => go(now + second),
    PageDown: () => go(now - 10 * second), PageUp: () => go(now + 10 * second),
    Home: () => go(1), End: () => go(length),
  };
  const changes = { ArrowLeft: () => goToChange(-1), ArrowRight: () => goToChange(1) };
  document.addEventListener("keydown", (event) => {
    const here = document.activeElement;
    const onStrip = here === strip;
    const anywhere = event.key in changes && (here === document.body || here.id === "content");
    if (event.ctrlKey || event.metaKey || event.altKey || !(onStrip || anywhere)) return;
    const does = (event.shiftKey ? changes : keys)[event.key];
    if (event.key === " ") { if (!still && !event.repeat) play.click(); } else if (does) byHand(does)(); else return;
    event.preventDefault();
  });
  const drag = (event) => {
    const box = strip.getBoundingClientRect();
    go(1 + Math.floor((event.clientX - box.left) / box.width * length));
  };
  strip.addEventListener("pointerdown", (event) => {
    if (event.button) return;
    stop();
    strip.setPointerCapture(event.pointerId);
    drag(event);
  });
  strip.addEventListener("pointermove", (event) => { if (strip.hasPointerCapture(event.pointerId)) drag(event); });
  Object.entries({
    role: "slider", tabindex: "0", "aria-label": "Frame of the film", "aria-valuemin": "1", "aria-valuemax": String(length),
  }).forEach(([name, value]) => strip.setAttribute(name, value));

  if (!still) controls.append(play, make("label", {}, make("span", { className: "unseen", textContent: "Speed" }), speed));
  controls.append(
    button("Frame back", byHand(keys.ArrowLeft)), button("Frame on", byHand(keys.ArrowRight)),
    button("Change before", byHand(changes.ArrowLeft)), button("Next change", byHand(changes.ArrowRight)),
    make("label", {}, make("span", { textContent: "Whose work: " }), choice),
  );

  const read = () => {
    const given = Object.fromEntries(location.hash.slice(1).split("&").map((part) => part.split("=")));
    const frame = given.t === undefined ? null : frameOf(given.t);
    stop();
    if (given.who !== undefined || picked) pick(given.who || "");
    if (frame !== null || !shown) { now = frame === null ? now : frame; draw(); }
  };
  window.addEventListener("hashchange", read);
  stage.hidden = label.hidden = false;
  strip.classList.add("moves");
  read();
})();
