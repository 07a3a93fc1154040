// What a page of the tablet does with the queue: the line that says how the logs stand, the big button, undo, the light.
"use strict";
(() => {
  const words = JSON.parse(document.getElementById("tablet-words").textContent);
  const region = document.getElementById("queue");
  const isShell = document.documentElement.hasAttribute("data-shell");
  const REFRESH_MS = 600_000;
  const ONE_TAP_MS = 1_000;
  let facts = null;
  let busyUntil = 0;
  let touched = false;
  const mine = new Set();

  const form = () => document.querySelector("form[data-log]");
  const filled = (sentence, values) => sentence.replace(/%\((\w+)\)s/g, (_all, name) => values[name]);
  const several = (pair, count, values = {}) => filled(pair[count === 1 ? 0 : 1], { count, ...values });
  const clock = (tapped) => new Intl.DateTimeFormat(document.documentElement.lang, {
    hour: "2-digit", minute: "2-digit", hour12: Boolean(facts?.half_days), timeZone: facts?.zone,
  }).format(tapped + (facts?.off ?? 0));
  const made = (name, attributes = {}, ...inside) => {
    const element = document.createElement(name);
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
    element.append(...inside);
    return element;
  };
  const say = (where, sentence) => {
    document.getElementById(where).replaceChildren(made("p", { class: where === "warned" ? "notice stop" : "notice" }, sentence));
  };

  // --- how the logs stand ---
  const standing = (logs) => {
    const waiting = logs.filter((one) => !one.refused);
    if (tabletQueue.state.barred || tabletQueue.state.broken) return words.cannot;
    if (waiting.length) return filled(words.waiting, { count: waiting.length, time: clock(waiting[0].tapped) });
    return logs.length ? several(words.desk, logs.length) : words.sent;
  };
  const lastNotice = (one) => {
    const said = filled(words.logged, { what: one.words.what, at: clock(one.tapped) });
    document.getElementById("last")?.replaceChildren(made("div", { class: "notice row" },
      made("p", {}, said),
      made("form", { method: "post", "data-undo": one.key, "data-what": one.words.what }, made("button", {}, words.undo))));
  };
  const refusedNotice = (one) => {
    const about = [clock(one.tapped), one.words.processor, one.words.what, one.words.kind, one.words.paper, one.words.who];
    const what = about.filter(Boolean).join(", ");
    return made("div", { class: "notice attention", "data-refused": one.id },
      made("p", {}, one.undo ? filled(words.undo_refused, { what }) : what),
      made("p", {}, one.refused),
      made("button", { type: "button", "data-away": one.id }, words.away));
  };
  // In the shell no server says what was logged here last.
  const showSent = async () => {
    const one = await tabletQueue.kept("last");
    if (one && Date.now() < one.until && one.log.processor === form()?.dataset.log) lastNotice(one);
  };
  const render = async () => {
    let said = words.insecure;
    if (tabletQueue.state.secure) {
      try {
        const logs = await tabletQueue.all();
        said = standing(logs);
        const refused = logs.filter((one) => one.refused);
        const place = document.getElementById("refused");
        const shown = [...place.children].map((one) => one.dataset.refused).join();
        if (shown !== refused.map((one) => one.id).join()) place.replaceChildren(...refused.map(refusedNotice));
        const last = document.getElementById("last");
        const lastKey = last?.querySelector("[data-undo]")?.dataset.undo;
        if (refused.some((one) => one.key === lastKey)) last.replaceChildren();
        const here = logs.filter((one) => !one.refused && !one.undo && one.log.processor === form()?.dataset.log);
        if (here.length) lastNotice(here.at(-1)); else if (isShell) await showSent();
      } catch {
        said = words.cannot;
      }
    }
    if (region.textContent !== said) region.textContent = said;
  };

  // --- the big button ---
  const chosen = (name) => form().querySelector(`input[name=${name}]:checked`);
  const label = (name) => chosen(name)?.nextElementSibling.textContent.replace(/\s+/g, " ").trim() ?? "";
  const missing = () => ["sheet", "paper", "who"].find(
    (name) => form().querySelector(`input[name=${name}]`) && !chosen(name));
  const count = (value) => {
    const box = form().querySelector("[data-stepper]");
    if (value) {
      box.querySelector("input").value = box.querySelector("output").textContent = String(value);
      for (const echo of document.querySelectorAll("[data-echo=sheets]")) echo.textContent = String(value);
    }
    return Number(box.querySelector("input").value);
  };
  const logIt = async (log) => {
    if (Date.now() < busyUntil) return; // one tap is one log, however hard the finger
    busyUntil = Infinity;
    try {
      const lacking = missing();
      if (lacking) {
        say("warned", words.choose[lacking]);
        log.querySelector(`input[name=${lacking}]`).focus();
        return;
      }
      const sheets = count();
      const entry = {
        processor: log.dataset.log, sheets, ...Object.fromEntries(
          ["sheet", "paper", "kind", "who"].map((name) => [name, chosen(name)?.value ?? ""])),
      };
      const one = await tabletQueue.add(entry, {
        processor: log.dataset.name, kind: label("kind"), paper: label("paper"), who: label("who"),
        what: several(words.sheets, sheets, { size: label("sheet") }),
      });
      mine.add(one.key);
      touched = false;
      lastNotice(one);
      for (const place of ["said", "warned"]) document.getElementById(place).replaceChildren();
      document.getElementById("problems")?.remove();
      count(1);
      log.querySelector("input[name=kind]").checked = true;
      scrollTo(0, 0);
      // Without the name: it stands in the log alone, and goes with it.
      const { key, tapped } = one;
      const until = tapped + (facts?.undo_ms ?? 0);
      tabletQueue.keep("last", { key, tapped, log: entry, words: { what: one.words.what }, until }).catch(() => {});
    } catch {
      // Nothing can be kept here: say so, and send it as a form while the network is there.
      await render();
      if (!isShell) log.submit();
    } finally {
      busyUntil = Date.now() + ONE_TAP_MS;
    }
  };
  const takeBack = async (undo) => {
    await tabletQueue.undo(undo.dataset.undo, { what: undo.dataset.what, processor: form()?.dataset.name },
      form()?.dataset.log);
    mine.add(undo.dataset.undo);
    document.getElementById("last").replaceChildren();
    say("said", filled(words.undone, { what: undo.dataset.what }));
    tabletQueue.keep("last", null).catch(() => {});
  };
  document.addEventListener("submit", (event) => {
    const sent = event.target;
    if (!tabletQueue.state.secure || event.submitter?.name === "look") return;
    if (!sent.dataset.log && !sent.dataset.undo) return;
    event.preventDefault();
    (sent.dataset.log ? logIt(sent) : takeBack(sent)).catch(render);
  });
  // As after the server's own form: the page anew, with size, paper and person as they were.
  document.addEventListener("tablet:settled", (event) => {
    if (isShell || touched || !mine.has(event.detail.key) || !form()) return;
    const kept = new URLSearchParams({ logged: "1" });
    for (const name of ["sheet", "paper", "who"]) if (chosen(name)) kept.set(name, chosen(name).value);
    location.replace(`${location.pathname}?${kept}`);
  });

  // --- other taps ---
  document.addEventListener("input", () => { touched = true; });
  document.addEventListener("click", async (event) => {
    if (event.target.closest("[data-stepper] button")) touched = true;
    const look = event.target.closest("button[name=look]");
    if (look && tabletQueue.state.secure) {
      event.preventDefault();
      tabletQueue.choose(look.value);
    }
    const away = event.target.closest("[data-away]");
    if (!away) return;
    if (away.dataset.sure) {
      await tabletQueue.putAway(Number(away.dataset.away)).catch(render);
    } else {
      away.dataset.sure = "1";
      away.textContent = words.away_sure;
    }
  });

  const refresh = async () => {
    facts = await tabletQueue.freshFacts().catch(() => tabletQueue.lastFacts()).catch(() => null);
    await render();
    await tabletQueue.drain();
  };
  document.addEventListener("tablet:changed", render);
  tabletQueue.wear(document.documentElement.className);
  if (new URLSearchParams(location.search).has("lost")) say("warned", words.not_kept);
  if (!tabletQueue.state.secure) {
    render();
    return;
  }
  addEventListener("online", refresh);
  setInterval(refresh, REFRESH_MS);
  tabletQueue.lastFacts().catch(() => null).then((found) => { facts ??= found; return render(); }).then(refresh);
  navigator.storage?.persist?.().catch(() => {});
  navigator.serviceWorker?.register("/tablet/worker.js", { scope: "/tablet/" }).catch(() => {});
})();
