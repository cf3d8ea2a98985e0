// The page without a network: over http(s) a service worker keeps a copy; a page opened as a file needs none.

/** Registers the service worker, and names the manifest, where the page was served and the browser can. */
function offlineStart() {
  if (!/^https?:$/.test(location.protocol)) return;
  const manifest = document.createElement("link");
  manifest.rel = "manifest";
  manifest.href = "manifest.webmanifest";
  document.head.append(manifest);
  if (!("serviceWorker" in navigator) || document.body.dataset.offline === "no") return;
  const line = document.getElementById("offline");
  navigator.serviceWorker
    .register("sw.js")
    .then(() => navigator.serviceWorker.ready)
    .then(() => {
      line.textContent = line.dataset.kept;
    })
    .catch(() => {
      line.textContent = line.dataset.failed;
    })
    .finally(() => {
      line.hidden = false;
    });
}
