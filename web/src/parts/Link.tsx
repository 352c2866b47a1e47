import type { ComponentChildren } from "preact";
import { go, isOurs } from "../app/router";

interface LinkProps {
  readonly href: string;
  readonly class?: string | undefined;
  readonly rel?: string | undefined;
  readonly "aria-label"?: string | undefined;
  readonly "aria-current"?: "page" | "true" | undefined;
  readonly children: ComponentChildren;
}

/** A link within the page: a plain click stays here, any other does what links do. */
export function Link({ href, children, ...rest }: LinkProps) {
  const follow = (event: MouseEvent): void => {
    if (!isOurs(event)) return;
    event.preventDefault();
    go(href);
  };
  return (
    <a {...rest} href={href} onClick={follow}>
      {children}
    </a>
  );
}
