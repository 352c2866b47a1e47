import { useEffect, useRef } from "preact/hooks";
import { fillFrame } from "../pages/read/report_frame";

const SPARE_PX = 24;

interface PageFrameProps {
  readonly page: string;
  readonly title: string;
}

/** A page of the report's make, in a frame without any power, as high as what it holds. */
export function PageFrame({ page, title }: PageFrameProps) {
  const frame = useRef<HTMLIFrameElement>(null);
  useEffect(() => {
    const own = frame.current;
    if (!own) return;
    const empty = fillFrame(own, page);
    // By what it holds, not by its root: that is never lower than the frame.
    const held = [...(own.contentDocument?.body.children ?? [])];
    const fit = (): void => {
      const scrolled = own.contentWindow?.scrollY ?? 0;
      const bottom = Math.max(0, ...held.map((child) => child.getBoundingClientRect().bottom + scrolled));
      own.style.height = `${Math.ceil(bottom) + SPARE_PX}px`;
    };
    const watcher = new ResizeObserver(fit);
    for (const child of held) watcher.observe(child);
    fit();
    return () => {
      watcher.disconnect();
      empty();
    };
  }, [page]);
  return <iframe ref={frame} class="page-frame" title={title} sandbox="allow-same-origin" />;
}
