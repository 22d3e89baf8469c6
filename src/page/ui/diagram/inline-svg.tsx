/** A chart in the colours of the page. */

import { useLayoutEffect, useRef } from 'preact/hooks';

/** @param svg with the texts in it escaped by the engine; anything but an SVG is left out. */
export function InlineSvg({ svg }: { readonly svg: string }) {
  const place = useRef<HTMLDivElement>(null);
  useLayoutEffect(() => {
    const { documentElement } = new DOMParser().parseFromString(svg, 'image/svg+xml');
    if (documentElement instanceof SVGSVGElement)
      place.current?.replaceChildren(document.adoptNode(documentElement));
  }, [svg]);
  return <div ref={place} class="drawing" />;
}
