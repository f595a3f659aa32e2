"""A phone whose browser has no room left."""

# puts other things into the store, ever smaller ones, until not even eight bytes go in
FILL = """async () => {
  const asked = (request) => new Promise((ok, no) => {
    request.onsuccess = () => ok(request.result);
    request.onerror = () => no(request.error);
    request.onupgradeneeded = () => request.result.createObjectStore("stuff", { autoIncrement: true });
  });
  const db = await asked(indexedDB.open("other-things"));
  const put = (bytes) => new Promise((ok) => {
    const change = db.transaction("stuff", "readwrite");
    change.objectStore("stuff").add(crypto.getRandomValues(new Uint8Array(bytes)));
    change.oncomplete = () => ok(true);
    change.onabort = () => ok(false);
  });
  for (const bytes of [65536, 8192, 1024, 128, 8]) while (await put(bytes));
  db.close();
}"""
