/** The two pages: a sheet to hand out, with the engine inside, and the one that `listen` serves. */

import type { PlaceFigure } from '../../output/diagram/layout.ts';
import { documentOf, type Live, policyOf } from '../../output/document/document.ts';
import type { Body } from '../../output/sheet/outline.ts';
import type { Sheet } from '../../output/sheet/sheet.ts';
import { laidOut, sheetPage } from '../../output/sheet/sheet-page.ts';
import type { Patch } from '../../patch/patch.ts';
import { baseName } from '../../patch/paths.ts';
import type { PatchTexts } from '../../patch/texts.ts';
import { PIECES_STYLE } from '../pieces/style.ts';
import type { Host } from '../protocol.ts';
import { ALONG_STYLE } from '../ui/along/style.ts';
import { SHEET_UI_STYLE } from '../ui/style.ts';
import { VERSIONS_STYLE } from '../ui/versions/style.ts';
import type { Bundles } from './bundles.ts';

/** Where the page finds its host, from its own address. */
export const HOST: Host = { events: 'events', save: 'save', draw: 'draw' };

/** Writes a sheet, interactive where scripts run. @param clip whether the clip is in it. */
export function handOut(
  sheet: Sheet,
  files: PatchTexts,
  bundles: Bundles,
  clip: boolean,
  place?: PlaceFigure,
): Promise<string> {
  return sheetPage(sheet, {
    clip,
    live: live(files, bundles, undefined),
    ...(place && { place }),
  });
}

export interface ServedPage {
  readonly html: string;
  readonly policy: string;
}

/** Writes the page that the host serves. @param parts the contents of its elements. */
export function servedPage(
  files: PatchTexts,
  patch: Patch | undefined,
  parts: Body,
  bundles: Bundles,
): ServedPage {
  const title = patch?.title ?? baseName(files.main);
  const page = laidOut(title, parts, live(files, bundles, HOST));
  return { html: documentOf(page), policy: policyOf(page) };
}

function live(
  files: PatchTexts,
  { interface: script, engine, notices }: Bundles,
  host: Host | undefined,
): Live {
  return {
    style: PIECES_STYLE + SHEET_UI_STYLE + ALONG_STYLE + VERSIONS_STYLE,
    script,
    programs: { engine },
    notices,
    data: { files, ...(host && { host }) },
    sources: {
      'img-src': 'blob:',
      'media-src': 'blob:',
      // The engine is WebAssembly; it and the audio thread start from scripts in the page.
      'script-src': "blob: 'wasm-unsafe-eval'",
      'worker-src': 'blob:',
      ...(host && { 'connect-src': "'self'" }),
    },
  };
}
