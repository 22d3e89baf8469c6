/** A grey picture as PNG, for the parts of a chart that are pixels. */

import { encode } from 'fast-png';

/**
 * Packs grey pixels as a PNG that a page or an SVG can hold.
 * @param grey 0 black to 255 white, row by row from the top.
 */
export function pngUrl(grey: Uint8Array, width: number, height: number): string {
  const png = encode({ data: grey, width, height, channels: 1, depth: 8 });
  return `data:image/png;base64,${Buffer.from(png).toString('base64')}`;
}
