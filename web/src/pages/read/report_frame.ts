/** Put a report into a frame that runs nothing.
 *
 * The page's policy forbids inline style, for frames that it makes as well, and the report is one file
 * with its style inside. So the report is parsed apart, its style goes in as a style sheet object, and
 * style attributes go in property by property; scripts are not allowed in the frame at all.
 */
export function fillFrame(frame: HTMLIFrameElement, page: string): () => void {
  const inside = frame.contentDocument;
  const view = frame.contentWindow as (Window & typeof globalThis) | null;
  if (!inside || !view) return () => undefined;
  const report = new DOMParser().parseFromString(page, "text/html");
  const css = [...report.querySelectorAll("style")].map((style) => style.textContent ?? "").join("\n");
  for (const element of report.querySelectorAll("style, script, meta, link, base")) element.remove();
  const scroll = view.scrollY;
  inside.documentElement.lang = report.documentElement.lang;
  inside.body.replaceChildren(...[...report.body.childNodes].map((node) => styled(inside.importNode(node, true))));
  const sheet = new view.CSSStyleSheet();
  sheet.replaceSync(css);
  inside.adoptedStyleSheets = [sheet];
  view.scrollTo(0, scroll);
  const follow = (event: MouseEvent): void => within(event, inside);
  inside.addEventListener("click", follow);
  return () => inside.removeEventListener("click", follow);
}

/** Style attributes of a node and all below it, set again as properties. */
function styled<T extends Node>(node: T): T {
  const walker = (node.ownerDocument ?? document).createTreeWalker(node, NodeFilter.SHOW_ELEMENT);
  for (let at: Node | null = walker.currentNode; at; at = walker.nextNode()) {
    const element = at as HTMLElement;
    const text = element.getAttribute?.("style");
    if (text) {
      element.removeAttribute("style");
      element.style.cssText = text;
    }
  }
  return node;
}

/** Links of the report lead within it; the frame has no address of its own to follow them by. */
function within(event: MouseEvent, inside: Document): void {
  const link = (event.target as Element | null)?.closest?.("a[href]");
  if (!link) return;
  event.preventDefault();
  const target = link.getAttribute("href") ?? "";
  if (target.startsWith("#")) inside.getElementById(decodeURIComponent(target.slice(1)))?.scrollIntoView();
}
