/**
 * The block diagrams, which follow the cables in the page's texts. Only the host can lay them
 * out; in a hand-out the cables cannot change.
 */

import type { PatchTexts } from '../../../patch/texts.ts';
import type { Host } from '../../protocol.ts';
import { drawn } from '../files/saving.ts';
import type { Folds } from '../folds.ts';
import { parsed, replace } from '../parts.ts';

interface DrawnWish {
  /** What they show. */
  readonly figures: string;
  readonly files: PatchTexts;
}

const UNKNOWN = '';

export class Diagram {
  private readonly host: Host | undefined;
  private readonly folds: Folds;
  private readonly onDrawn: () => void;
  /** What the diagrams show now; unknown until the host has sent it. */
  private shown = UNKNOWN;
  private wish: DrawnWish | undefined;
  private isAsking = false;

  /** @param files the texts that the page came with. */
  constructor(host: Host | undefined, files: PatchTexts, folds: Folds, onDrawn: () => void) {
    this.host = host;
    this.folds = folds;
    this.onDrawn = onDrawn;
    const isKept = document.querySelector('[data-island="diagram"] .undrawn') !== null;
    if (isKept) this.show(UNKNOWN, files);
  }

  /** Shows the diagrams of some texts as soon as the host has drawn them. */
  show(figures: string, files: PatchTexts): void {
    this.wish = { figures, files };
    if (!this.isAsking) void this.ask();
  }

  /** Sends one request at a time; meanwhile only the newest request is kept. */
  private async ask(): Promise<void> {
    const { host } = this;
    const place = document.querySelector('[data-island="diagram"]');
    if (host === undefined || place === null) return;
    this.isAsking = true;
    for (let { wish } = this; wish !== undefined; { wish } = this) {
      this.wish = undefined;
      if (wish.figures !== UNKNOWN && wish.figures === this.shown) continue;
      if (this.shown !== UNKNOWN) place.setAttribute('aria-busy', 'true');
      const answer = await drawn(host, wish.files);
      if (this.wish !== undefined) continue;
      if (answer.type === 'refused') this.lack(place, answer.message);
      else {
        const template = parsed(answer.markup);
        this.folds.restore(template.content);
        fitInto(template.content, place);
        replace(place, template);
        this.shown = answer.figures;
      }
      this.onDrawn();
    }
    place.removeAttribute('aria-busy');
    this.isAsking = false;
  }

  /** Says that there is no diagram, unless the one that the page came with may be right. */
  private lack(place: Element, message: string): void {
    if (this.shown === UNKNOWN && place.querySelector('.undrawn') === null) return;
    const words = document.createElement('p');
    words.textContent = `The block diagram is not here. ${message}`;
    place.replaceChildren(words);
    this.shown = UNKNOWN;
  }
}

/** A diagram may shrink to this share of its possible size to fit into its place. */
const SMALLEST = 0.75;

/**
 * Fits what has been drawn into the places that were kept for it, so that nothing moves before the
 * reader's eyes. A diagram below the visible area keeps its size, and so does one that would be too small to read.
 */
function fitInto(content: DocumentFragment, place: Element): void {
  const pictures = [...content.querySelectorAll<SVGSVGElement>('svg:not(.row)')];
  const places = [...place.querySelectorAll<SVGSVGElement>('svg:not(.row)')];
  if (places.length !== pictures.length) return;
  places.forEach((kept, index) => {
    const picture = pictures[index];
    const { top, width: seen } = kept.getBoundingClientRect();
    if (picture === undefined || kept.querySelector('.undrawn') === null || top >= innerHeight)
      return;
    // A folded diagram is not visible.
    if (seen === 0) return;
    const [width, height] = sizeOf(kept);
    const [drawnWidth, drawnHeight] = sizeOf(picture);
    const scale = Math.max(1, drawnWidth / width, drawnHeight / height);
    // A diagram wider than the page is shrunk to its width in any case.
    const alone = seen < width ? Math.min(1, seen / drawnWidth) : 1;
    if (seen / width / scale < SMALLEST * alone) return;
    picture.setAttribute('viewBox', `0 0 ${width * scale} ${height * scale}`);
    picture.setAttribute('width', String(width));
    picture.setAttribute('height', String(height));
  });
}

/** px. */
function sizeOf({ width, height }: SVGSVGElement): readonly [width: number, height: number] {
  return [width.baseVal.value, height.baseVal.value];
}
