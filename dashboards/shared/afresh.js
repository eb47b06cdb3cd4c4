// A page is some forty files. Where one of them is lost on its way, at the edge of the wireless or when the device changes
// from one network to another, the browser runs none; then the page is loaded anew as soon as the monitor answers. A script of the old kind, to be there before them.

{
  const AGAIN_MS = 3000, PATIENCE_MS = 10_000;
  let asking = false;

  const again = async () => {
    const answer = await fetch(location.href, { cache: "no-store", signal: AbortSignal.timeout(PATIENCE_MS) }).catch(() => null);
    if (answer && answer.ok) location.reload();
    else setTimeout(again, AGAIN_MS);
  };

  addEventListener("error", ({ target }) => {
    if (!(target instanceof HTMLScriptElement) || asking) return;
    asking = true;
    setTimeout(again, AGAIN_MS);
  }, true);
}
