// Keeps a copy of the site, so that it opens without a network. Made by Liningbook for one edition of one page.
//
// The network comes first: whoever is online sees the edition that the practice has put up. Copies of other editions
// are removed. Nothing but the files of this site is fetched, and nothing that is typed into the page is kept.
"use strict";

const PLACE = `liningbook ${self.registration.scope} `;
const KEPT = `${PLACE}@edition@`;
const PAGE = new URL("index.html", self.registration.scope).href;
const FILES = [PAGE, ...["manifest.webmanifest", "icon.svg"].map((name) => new URL(name, self.registration.scope).href)];
const PATIENCE = 6000;

/** The address under which a request's answer is kept, or nothing if it is none of this site's files. */
function keptAs(request) {
  const address = new URL(request.url);
  address.search = "";
  address.hash = "";
  if (address.href === self.registration.scope) return PAGE;
  return FILES.includes(address.href) ? address.href : undefined;
}

/** An answer that may be given to any later request: one that was redirected on its way may not. */
async function whole(answer) {
  return answer.redirected ? new Response(await answer.blob(), { headers: answer.headers }) : answer;
}

async function keep() {
  const cache = await caches.open(KEPT);
  await Promise.all(
    FILES.map(async (address) => {
      const answer = await fetch(address, { cache: "reload" });
      if (!answer.ok) throw new Error(`${address}: ${answer.status}`);
      await cache.put(address, await whole(answer));
    }),
  );
}

async function removeOthers() {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith(PLACE) && name !== KEPT).map((name) => caches.delete(name)));
}

/** The network's answer, kept as the newest copy; without a network, or after long waiting, the copy. */
async function answer(request, address) {
  const copy = async () => (await caches.open(KEPT)).match(address);
  const online = fetch(request, { cache: "no-cache" }).then(async (found) => {
    if (found.ok && !found.redirected) await (await caches.open(KEPT)).put(address, found.clone());
    return found;
  });
  online.catch(() => {}); // it is looked at below; after long waiting nobody may be left to look
  const late = new Promise((done) => {
    setTimeout(done, PATIENCE);
  });
  try {
    const found = await Promise.race([online, late]);
    // A server that cannot answer is like no network; one that says the page is gone is believed.
    if (found && found.status < 500) return found;
    return (await copy()) ?? (await online);
  } catch (failure) {
    const kept = await copy();
    if (kept) return kept;
    throw failure;
  }
}

self.addEventListener("install", (event) => {
  self.skipWaiting();
  event.waitUntil(keep());
});

self.addEventListener("activate", (event) => {
  event.waitUntil(removeOthers().then(() => self.clients.claim()));
});

self.addEventListener("fetch", (event) => {
  const address = event.request.method === "GET" ? keptAs(event.request) : undefined;
  if (address) event.respondWith(answer(event.request, address));
});
