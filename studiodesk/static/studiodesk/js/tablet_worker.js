// Answers for the tablet's pages while the network or the server is away.  It keeps the shell and what that is drawn
// with, which are the same for everybody, and never an answer that was given to a person or to this tablet.
/* global told: version, files, shell, home; the view writes it before these lines. */
"use strict";
const PATIENCE_MS = 4_000;
const AWAY = [502, 503, 504];
const { version, files, shell, home } = self.told;

self.addEventListener("install", (event) => {
  const asked = [...files, shell].map((path) => new Request(path, { credentials: "omit", cache: "reload" }));
  event.waitUntil(caches.open(version).then((kept) => kept.addAll(asked)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const others = caches.keys().then((names) => Promise.all(
    names.filter((name) => name.startsWith("tablet-") && name !== version).map((name) => caches.delete(name))));
  event.waitUntil(others.then(() => self.clients.claim()));
});

const kept = async (path) => (await caches.open(version)).match(path);
const later = (ms) => new Promise((_done, fail) => { setTimeout(() => fail(new Error("too slow")), ms); });

// A redirect leads to the log-in page: this tablet is out of use, and the shell shows what it still keeps.
const page = async (request) => {
  try {
    const answer = await Promise.race([fetch(request), later(PATIENCE_MS)]);
    if (!AWAY.includes(answer.status) && answer.type !== "opaqueredirect") return answer;
    return (await kept(shell)) ?? answer;
  } catch (error) {
    const standIn = await kept(shell);
    if (standIn) return standIn;
    throw error;
  }
};
// What a form sent and nobody took is said to be lost, on a page that can be loaded again without sending it again.
const form = async (request) => {
  const answer = await fetch(request).catch(() => null);
  return answer && !AWAY.includes(answer.status) ? answer : Response.redirect(`${home}?lost=1`, 303);
};

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (origin !== self.location.origin) return;
  if (request.mode === "navigate" && pathname.endsWith("/")) {
    event.respondWith(request.method === "GET" ? page(request) : form(request));
  } else if (request.method === "GET" && files.includes(pathname)) {
    event.respondWith(kept(pathname).then((found) => found ?? fetch(request)));
  }
});
