/* A second copy of every mark in the browser's database, written through to the disk: the plain storage reaches the disk
   only every few seconds, and a browser killed in between would lose what had not. */

const NAME = "observation-marks", STORE = "marks";
let opening = null;

function open() {
  opening ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => request.result.createObjectStore(STORE, { keyPath: "id" });
    request.onsuccess = () => resolve(request.result);
    request.onerror = request.onblocked = () => reject(request.error);
  });
  return opening;
}

async function write(change) {
  const base = await open();
  return new Promise((resolve, reject) => {
    const unit = base.transaction(STORE, "readwrite", { durability: "strict" });
    change(unit.objectStore(STORE));
    unit.oncomplete = () => resolve();
    unit.onabort = unit.onerror = () => reject(unit.error);
  });
}

/* entry: {id, sheet, owner, event, sent}; sent is 0 while it waits, then the moment the service had it. */
export function put(entry) { return write((store) => store.put(entry)); }
export function remove(ids) { return ids.length ? write((store) => ids.forEach((id) => store.delete(id))) : Promise.resolve(); }
export async function everything() {
  const base = await open();
  return new Promise((resolve, reject) => {
    const request = base.transaction(STORE).objectStore(STORE).getAll();
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}
