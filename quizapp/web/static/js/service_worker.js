/* Keeps on this device the pages that the service allows, for the person signed in, for 36 hours at most. A page of
   anybody else, or a sign-out, throws all of them away. Marks on sheets are none of its business. */

const SHELL = "shell", KEPT = "kept-", OFFLINE = "/offline";
const LONGEST_MS = 36 * 3600 * 1000, PATIENCE_MS = 6000;
const NAMED = [/(?:src|href)="(\/static\/[^"#]+)"/g, /from "(\.\/[^"]+)"/g, /url\(["']?([^"')]+)["']?\)/g];

addEventListener("install", (event) => event.waitUntil(keepShell(OFFLINE).then(() => skipWaiting())));
addEventListener("activate", (event) => event.waitUntil(clients.claim()));

/* A file, and every file that it names in turn. */
async function keepShell(address, seen = new Set()) {
  const url = new URL(address, location.origin);
  if (url.origin !== location.origin || seen.has(url.pathname)) return;
  seen.add(url.pathname);
  const answer = await fetch(url.pathname, { credentials: "omit" });
  if (!answer.ok) return;
  await (await caches.open(SHELL)).put(url.pathname, answer.clone());
  if (/html|javascript|css/.test(answer.headers.get("Content-Type") || "")) await keepNamed(await answer.text(), url, seen);
}
function keepNamed(text, url, seen) {
  const found = NAMED.flatMap((pattern) => [...text.matchAll(pattern)].map((match) => new URL(match[1], url).href));
  return Promise.all(found.filter((one) => new URL(one).pathname.startsWith("/static/")).map((one) => keepShell(one, seen)));
}

async function keptNames() { return (await caches.keys()).filter((name) => name.startsWith(KEPT)); }
async function dropAllBut(owner) {
  const others = (await keptNames()).filter((name) => name !== KEPT + owner);
  await Promise.all(others.map((name) => caches.delete(name)));
}
async function dropOld() {
  for (const name of await keptNames()) {
    const cache = await caches.open(name);
    for (const request of await cache.keys()) if (isOld(await cache.match(request))) await cache.delete(request);
  }
}
function isOld(answer) { return !answer || Math.abs(Date.now() - Number(answer.headers.get("Kept-At"))) > LONGEST_MS; }

/* Reads the answer to its end; give it a copy. */
async function keepPage(path, answer) {
  const owner = answer.headers.get("Device-Owner");
  if (!owner) return;
  await dropAllBut(owner);
  if (!answer.ok || answer.headers.get("Keep-On-Device") !== "yes") return;
  const headers = new Headers(answer.headers), text = await answer.text();
  headers.set("Kept-At", String(Date.now()));
  await (await caches.open(KEPT + owner)).put(path, new Response(text, { headers }));
  await keepNamed(text, new URL(path, location.origin), new Set());
}

async function keptPage(path) {
  await dropOld();
  for (const name of await keptNames()) {
    const answer = await (await caches.open(name)).match(path, { ignoreVary: true });
    if (answer) return marked(answer);
  }
  return null;
}
async function marked(answer) {
  const text = await answer.text(), at = answer.headers.get("Kept-At");
  return new Response(text.replace("<html ", '<html data-kept-at="' + at + '" '), { headers: answer.headers });
}
async function offline() { return (await caches.match(OFFLINE, { cacheName: SHELL })) || Response.error(); }
function after(ms) { return new Promise((resolve) => setTimeout(resolve, ms)); }

async function page(event) {
  const path = new URL(event.request.url).pathname;
  const asked = fetch(event.request).then((answer) => {
    const copy = answer.clone();
    event.waitUntil(keepPage(path, copy).catch(() => {}));
    return answer;
  });
  const slow = after(PATIENCE_MS).then(() => keptPage(path)).then((kept) => kept || asked);
  try {
    return await Promise.race([asked, slow]);
  } catch {
    return (await keptPage(path)) || offline();
  }
}

async function sent(request) {
  try {
    const answer = await fetch(request);
    if (new URL(request.url).pathname === "/sign-out") await dropAllBut("");
    return answer;
  } catch {
    return offline();
  }
}

async function file(request) {
  const path = new URL(request.url).pathname;
  try {
    const answer = await fetch(request);
    if (answer.ok) await (await caches.open(SHELL)).put(path, answer.clone());
    return answer;
  } catch {
    return (await caches.match(path, { cacheName: SHELL, ignoreVary: true })) || Response.error();
  }
}

addEventListener("fetch", (event) => {
  const { request } = event, url = new URL(request.url);
  if (url.origin !== location.origin) return;
  if (request.method === "GET" && url.pathname.startsWith("/static/")) event.respondWith(file(request));
  else if (request.mode === "navigate") event.respondWith(request.method === "GET" ? page(event) : sent(request));
});

async function keepAsked(paths) {
  for (const path of paths) {
    const answer = await fetch(path, { headers: { Accept: "text/html" }, redirect: "manual" });
    if (answer.type === "basic") await keepPage(new URL(path, location.origin).pathname, answer);
  }
}
addEventListener("message", (event) => {
  const done = () => event.ports[0]?.postMessage("done");
  if (event.data.drop) event.waitUntil(dropAllBut("").then(done, done));
  if (event.data.keep) event.waitUntil(keepAsked(event.data.keep).then(done, done));
});
