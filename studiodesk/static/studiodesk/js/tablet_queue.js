// The tablet's logs: on the disk before the screen says so, sent in order and one at a time, each until it is answered.
"use strict";
const tabletQueue = (() => {
  const ANSWER_MS = 10_000;
  const LONGEST_PAUSE_S = 60;
  const FRESH_MS = 30_000;
  const PASSING = [408, 425, 429];
  const secure = window.isSecureContext && Boolean(navigator.locks && window.indexedDB && crypto.randomUUID);
  const state = { secure, barred: false, broken: false };
  let token = "";
  let heard = -Infinity;
  let denied = 0;
  let failed = 0;
  let timer = 0;
  let database = null;

  // --- what is kept on this tablet ---
  const open = () => {
    database ??= new Promise((done, fail) => {
      const asked = indexedDB.open("tablet", 1);
      asked.onupgradeneeded = () => {
        asked.result.createObjectStore("logs", { keyPath: "id", autoIncrement: true });
        asked.result.createObjectStore("kept");
      };
      asked.onsuccess = () => {
        const found = asked.result;
        found.onclose = () => { database = null; };
        found.onversionchange = () => { found.close(); database = null; };
        done(found);
      };
      asked.onerror = asked.onblocked = () => { database = null; fail(asked.error ?? new Error("blocked")); };
    });
    return database;
  };
  // One transaction; what it gives is given when it is on the disk, not before.
  const within = async (name, mode, work) => {
    try {
      const found = await open();
      const given = await new Promise((done, fail) => {
        const turn = found.transaction(name, mode, { durability: "strict" });
        const asked = work(turn.objectStore(name));
        turn.oncomplete = () => done(asked.result);
        turn.onabort = turn.onerror = () => fail(turn.error ?? new Error("aborted"));
      });
      if (mode === "readwrite") state.broken = false; // that it can be read says nothing of writing
      return given;
    } catch (error) {
      state.broken = true;
      database = null;
      throw error;
    }
  };
  const all = () => within("logs", "readonly", (logs) => logs.getAll());
  const put = (record) => within("logs", "readwrite", (logs) => logs.put(record));
  // Alters one log, or removes it where ``alter`` gives null; undefined if it is gone already.
  const change = (id, alter) => within("logs", "readwrite", (logs) => {
    const out = {};
    const found = logs.get(id);
    found.onsuccess = () => {
      if (!found.result) return;
      out.result = alter(found.result);
      if (out.result) logs.put(out.result); else logs.delete(id);
    };
    return out;
  });
  const kept = (name) => within("kept", "readonly", (store) => store.get(name));
  const keep = (name, value) => within("kept", "readwrite", (store) => store.put(value, name));

  // --- other tabs and this page ---
  const channel = secure ? new BroadcastChannel("tablet") : null;
  const tell = (what, detail) => document.dispatchEvent(new CustomEvent(`tablet:${what}`, { detail }));
  const changed = () => { tell("changed"); channel?.postMessage("changed"); };
  if (channel) channel.onmessage = () => tell("changed");

  // --- the server ---
  const ask = (path, options = {}) => fetch(path, {
    cache: "no-store", redirect: "error", signal: AbortSignal.timeout(ANSWER_MS), ...options,
  });
  const post = (path, body, headers) => ask(path, {
    method: "POST", body, headers: { "X-CSRFToken": token, ...headers },
  });
  const nameless = (facts) => ({ ...facts, processors: facts.processors.map((one) => ({ ...one, who: [] })) });
  const forgetNames = async () => {
    const facts = await kept("facts");
    if (facts) await keep("facts", nameless(facts));
  };
  // Today's names are kept for today.
  const lastFacts = async () => {
    const facts = await kept("facts");
    if (!facts || Date.now() + facts.off < facts.until || facts.processors.every((one) => !one.who.length)) return facts;
    await forgetNames();
    return nameless(facts);
  };
  const freshFacts = async () => {
    const answer = await ask("/tablet/facts/");
    if (answer.status === 401) {
      state.barred = true;
      changed();
      await forgetNames();
    }
    if (!answer.ok) throw new Error("no facts");
    const { token: given, ...facts } = await answer.json();
    facts.off = facts.now - Date.now();
    token = given;
    heard = performance.now();
    if (state.barred && denied < 2) { state.barred = false; changed(); }
    await keep("facts", facts).catch(changed);
    await tellLight().catch(() => {});
    return facts;
  };

  // --- sending ---
  // Throws for everything that may go better later; gives a log that is counted, or null if it went another way.
  const send = async (record) => {
    // Asked first whether anybody is there: a log that never left can simply be taken out of the line again.
    if (!token || !navigator.onLine || performance.now() - heard > FRESH_MS) await freshFacts();
    // From here on it may have reached the server, whatever comes back.
    const one = await change(record.id, (found) => ({ ...found, tries: found.tries + 1 }));
    if (!one) return null;
    const answer = one.sent
      ? await post(`/tablet/logs/${one.key}/undo/`)
      : await post("/tablet/logs/", JSON.stringify({ ...one.log, tapped: one.tapped, sent: Date.now() }), {
        "Content-Type": "application/json", "Idempotency-Key": `"${one.key}"`,
      });
    const said = await answer.json().catch(() => null);
    if (answer.ok && said?.key === one.key) {
      denied = failed = 0;
      heard = performance.now();
      state.barred = false;
      const left = await change(one.id, (found) => (found.undo && !found.sent ? { ...found, sent: true } : null));
      return left ? null : one;
    }
    if (answer.status === 401 || answer.status === 403) {
      // A token that is old is asked for anew; a tablet that is out of use keeps all it has.
      token = "";
      denied += 1;
      state.barred ||= answer.status === 401 || denied > 1;
    } else if (answer.status >= 400 && answer.status < 500 && said?.said && !PASSING.includes(answer.status)
        && said.code !== "journal.still_running") {
      const refused = `${said.said} ${said.way_on}`.trim();
      await change(one.id, (found) => (found.undo && !found.sent ? null : { ...found, refused }));
      return null;
    }
    throw new Error("later");
  };
  const again = () => {
    failed += 1;
    heard = -Infinity;
    changed();
    clearTimeout(timer);
    timer = setTimeout(drain, 1000 * Math.min(LONGEST_PAUSE_S, 2 ** Math.min(failed, 6)));
  };
  // One tab at a time sends, and each log only after the one before it was answered; a refused one lets others pass.
  const drain = async () => {
    if (!secure) return;
    clearTimeout(timer);
    const settled = [];
    try {
      await navigator.locks.request("tablet-queue", async () => {
        for (;;) {
          const next = (await all()).find((one) => !one.refused);
          if (!next) break;
          const one = await send(next);
          if (one) settled.push(one);
          changed();
        }
      });
    } catch {
      again();
    }
    for (const one of settled) tell("settled", one); // last of all: the page may now be loaded anew
  };

  const add = async (log, words) => {
    const record = { key: crypto.randomUUID(), tapped: Date.now(), tries: 0, log, words };
    record.id = await put(record);
    failed = 0;
    changed();
    drain();
    return record;
  };
  // What never left goes from the line; what may have reached the server is taken back there, by the same line.
  const undo = async (key, words, processor) => {
    const record = (await all()).find((one) => one.key === key);
    if (record) await change(record.id, (one) => (one.tries && !one.refused ? { ...one, undo: true } : null));
    else await put({ key, tapped: Date.now(), tries: 0, log: { processor }, words, undo: true, sent: true });
    changed();
    drain();
  };
  const putAway = async (id) => { await change(id, () => null); changed(); };

  // --- the light: chosen here, worn at once, told to the server when it can be told ---
  const remembered = (name, value) => {
    try {
      if (value !== undefined) localStorage.setItem(name, value);
      return localStorage.getItem(name) ?? "";
    } catch {
      return "";
    }
  };
  const wear = (light) => {
    const plain = light === "plain";
    document.documentElement.className = light;
    document.querySelector("meta[name=color-scheme]").content = plain ? "light" : "dark";
    document.querySelector("meta[name=theme-color]").content = plain ? "#f9f6f1" : "#000000";
    for (const button of document.querySelectorAll("button[name=look]")) button.hidden = button.value === light;
  };
  const tellLight = async () => {
    const light = remembered("light-untold");
    if (!light) return;
    if (!token) await freshFacts();
    const answer = await ask("/tablet/look/", {
      method: "POST", redirect: "manual", headers: { "X-CSRFToken": token }, body: new URLSearchParams({ look: light }),
    });
    if (answer.type === "opaqueredirect" && remembered("light-untold") === light) remembered("light-untold", "");
  };
  const choose = (light) => {
    wear(light);
    remembered("light", light);
    remembered("light-untold", light);
    tellLight().catch(() => {});
  };
  // Before anything is painted: what was chosen on this tablet last, whatever the server knew when it wrote the page.
  if (secure && !new URLSearchParams(location.search).has("look")) {
    if (remembered("light")) wear(remembered("light"));
    else if (!document.documentElement.hasAttribute("data-shell")) remembered("light", document.documentElement.className);
  }

  return { state, all, add, undo, putAway, drain, kept, keep, lastFacts, freshFacts, choose, wear };
})();
