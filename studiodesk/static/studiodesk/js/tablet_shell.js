// The page that stands in for every page of the tablet while the network is away, drawn from what was kept of today.
"use strict";
(async () => {
  const AGAIN_MS = 5_000;
  const BACK_AT_MOST_EVERY_MS = 30_000;
  const words = JSON.parse(document.getElementById("tablet-words").textContent);
  const at = (id) => document.getElementById(id);
  const asked = new URLSearchParams(location.search);
  const here = decodeURIComponent(location.pathname.match(/^\/tablet\/processor\/([^/]+)\/$/)?.[1] ?? "");
  let touched = false;

  const headed = (title, why = "") => {
    at("title").textContent = document.title = title;
    at("why").textContent = why;
    at("why").hidden = !why;
  };
  const tile = (name, [value, text, small], picked) => {
    const made = at("tile").content.firstElementChild.cloneNode(true);
    Object.assign(made.firstElementChild, { name, value, checked: picked });
    made.lastElementChild.append(text);
    if (small) {
      const note = document.createElement("small");
      note.textContent = small;
      made.lastElementChild.append(" ", note);
    }
    return made;
  };
  const tiles = (name, listed, picked) => {
    const group = document.querySelector(`[data-tiles=${name}]`);
    group.closest("fieldset").hidden = !listed.length;
    group.replaceChildren(...listed.map((one) => tile(name, one, one[0] === picked)));
  };
  const drawProcessor = async (facts, processor) => {
    headed(processor.name);
    const last = await tabletQueue.kept("last").catch(() => null);
    const before = last?.log.processor === processor.code ? last.log : {};
    const form = at("entry").querySelector("form");
    form.dataset.log = processor.code;
    form.dataset.name = processor.name;
    tiles("sheet", processor.sheet, asked.get("sheet") ?? before.sheet);
    tiles("paper", processor.paper, asked.get("paper") ?? before.paper);
    tiles("kind", facts.kinds, facts.kinds[0][0]);
    tiles("who", [...processor.who, ...facts.others], asked.get("who") ?? before.who);
    at("entry").hidden = false;
    document.dispatchEvent(new CustomEvent("tablet:changed"));
  };
  const drawList = (facts) => {
    headed(words.which);
    at("on").firstElementChild.hidden = true; // it leads here
    at("processors").replaceChildren(...facts.processors.map((one) => {
      const line = document.createElement("li");
      const link = document.createElement("a");
      link.className = "act";
      link.href = `/tablet/processor/${encodeURIComponent(one.code)}/`;
      link.textContent = one.name;
      line.append(link);
      return line;
    }));
    at("processors").hidden = false;
  };
  const draw = async () => {
    const facts = await tabletQueue.lastFacts().catch(() => null);
    const processor = facts?.processors.find((one) => one.code === here);
    if (!facts) headed(words.nothing_yet, words.nothing_yet_why);
    else if (processor) await drawProcessor(facts, processor);
    else if (location.pathname === "/tablet/") drawList(facts);
    else headed(words.needs_network, words.needs_network_why);
  };

  // --- back to the server's page, once it answers and nobody is in the middle of an entry ---
  const back = async () => {
    if (location.pathname === "/tablet/shell/") return; // opened as itself, it stands in for nothing
    try {
      await tabletQueue.freshFacts();
    } catch {
      if (!tabletQueue.state.barred) return;
      at("anew").hidden = false;
      const logs = await tabletQueue.all().catch(() => [null]);
      if (!logs.length) location.replace(`/log-in/?next=${encodeURIComponent("/tablet/")}`);
      return;
    }
    await tabletQueue.drain();
    if (touched && document.querySelector("[data-asleep]").hidden) return;
    const before = Number(sessionStorage.getItem("back") ?? 0);
    if (Date.now() - before < BACK_AT_MOST_EVERY_MS && Date.now() >= before) return;
    sessionStorage.setItem("back", String(Date.now()));
    location.reload();
  };
  addEventListener("input", () => { touched = true; });
  addEventListener("click", (event) => { if (event.target.closest("[data-stepper]")) touched = true; });
  addEventListener("submit", () => { touched = false; }, true);
  await draw();
  addEventListener("online", back);
  setInterval(back, AGAIN_MS);
  back();
})();
