// Opened as preview.html?watch, the page looks once a second whether its own file was written anew, and if so
// loads itself again. A page opened from disk may not read a file, not even its own; but it may show it in a
// frame, and the page in the frame may say which one it is. This script stands first, so that the frame need
// not read the rest.
"use strict";
(() => {
  const stamp = "STAMP OF THIS PAGE";
  if (location.search === "?stamp" && parent !== window) {
    parent.postMessage(stamp, "*");
    window.stop();
    return;
  }
  if (location.search !== "?watch") return;
  let frame = null;
  addEventListener("message", (event) => {
    if (!frame || event.source !== frame.contentWindow) return;
    if (event.data !== stamp) location.reload();
    frame.remove();
    frame = null;
  });
  setInterval(() => {
    if (document.hidden || !document.body) return;
    // Still there: the file could not be read just now.
    if (frame) frame.remove();
    frame = document.createElement("iframe");
    frame.hidden = true;
    frame.src = "?stamp";
    document.body.append(frame);
  }, 1000);
})();
