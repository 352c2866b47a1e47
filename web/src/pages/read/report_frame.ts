/** Put a report into a frame that runs nothing.
 *
 * The page's policy forbids inline style, for documents that it makes as well, and the report is one
 * file with its style inside. So its style sheet goes in as an object, and style attributes wait under
 * another name until they are set as properties; scripts are not allowed in the frame at all.
 */
const WAITING = "data-waiting-style";

export function fillFrame(frame: HTMLIFrameElement, page: string): () => void {
  const inside = frame.contentDocument;
  const view = frame.contentWindow as (Window & typeof globalThis) | null;
  if (!inside || !view) return () => undefined;
  const { css, html } = apart(page);
  const report = new DOMParser().parseFromString(html, "text/html");
  for (const element of report.querySelectorAll("script, meta, link, base")) element.remove();
  const scroll = view.scrollY;
  // Letters of the report grow with the window, as those of the page do.
  const size_px = Number.parseFloat(getComputedStyle(document.documentElement).fontSize);
  inside.documentElement.style.setProperty("zoom", String(Math.max(1, size_px / 16)));
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

/** The style sheets of a page, and the page without them and with its style attributes renamed. */
export function apart(page: string): { css: string; html: string } {
  const sheets: string[] = [];
  const html = page
    .replace(/<style[^>]*>([\s\S]*?)<\/style>/gi, (_, css: string) => {
      sheets.push(css);
      return "";
    })
    .replace(/<[a-z][^<>]*>/gi, (tag) => tag.replace(/\sstyle=(?=["'])/gi, ` ${WAITING}=`));
  return { css: sheets.join("\n"), html };
}

/** Style attributes of a node and all below it, set as properties. */
function styled<T extends Node>(node: T): T {
  const walker = (node.ownerDocument ?? document).createTreeWalker(node, NodeFilter.SHOW_ELEMENT);
  for (let at: Node | null = walker.currentNode; at; at = walker.nextNode()) {
    const element = at as HTMLElement;
    const text = element.getAttribute?.(WAITING);
    if (!text) continue;
    element.removeAttribute(WAITING);
    element.style.cssText = text;
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
