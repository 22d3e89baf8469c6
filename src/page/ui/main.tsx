/**
 * The entry of the page: takes over the islands of a sheet. Their static contents stay until the engine
 * has read the patch, and for good if no engine can run.
 */

import { type ComponentType, options, render } from 'preact';
import type { PatchTexts } from '../../patch/texts.ts';
import { rescueFocus } from '../pieces/rescued-focus.ts';
import { stripPlace } from '../pieces/strip.tsx';
import type { Host } from '../protocol.ts';
import { PatchAlong } from './along/patch-along.tsx';
import { onBlock } from './diagram/blocks.ts';
import { lightCables } from './diagram/lit.ts';
import { SoundCharts } from './diagram/sound.tsx';
import { Desk } from './files/desk.tsx';
import { Problems } from './files/problems.tsx';
import { Find } from './find/find.tsx';
import { listenToKeys } from './keys.ts';
import { orderPaper } from './paper.ts';
import { Patterns } from './pattern/patterns.tsx';
import { ScorePictures } from './pattern/score.tsx';
import { SettingsPanel } from './settings/settings.tsx';
import { Probe, ProbeChart } from './strip/probe.tsx';
import { SheetStrip } from './strip/strip.tsx';
import { SheetContext } from './use-sheet.ts';
import { Versions } from './versions/versions.tsx';
import { VoiceTable } from './voices/voices.tsx';
import { Worksheet } from './worksheet.ts';

function island(name: string): HTMLElement | null {
  return document.querySelector(`[data-island="${name}"]`);
}

function textOf(id: string): string | undefined {
  return document.getElementById(id)?.textContent ?? undefined;
}

function mount(place: Element, Component: ComponentType): void {
  place.replaceChildren();
  render(
    <SheetContext.Provider value={sheet}>
      <Component />
    </SheetContext.Provider>,
    place,
  );
}

function mountProbe(): void {
  const diagram = island('diagram');
  if (diagram === null) return;
  const place = document.createElement('div');
  diagram.before(place);
  mount(place, () => <Probe diagram={diagram} />);
  lightCables(diagram);
  onBlock(diagram, (name) => sheet.openBlock(name));
  const chart = document.createElement('div');
  diagram.after(chart);
  mount(chart, ProbeChart);
}

function mountIslands(components: Readonly<Record<string, ComponentType>>): void {
  for (const [name, Component] of Object.entries(components)) {
    const place = island(name);
    if (place !== null) mount(place, Component);
  }
}

const HEAD = { play: Desk, versions: Versions, along: PatchAlong, find: Find };

/** Mounts the parts at the top first: coming later, they would move everything below. */
function mountHead(): void {
  mount(strip, SheetStrip);
  mountIslands(HEAD);
  mountProbe();
}

/** Parts that the engine needs time for replace the static contents when they are ready. */
function mountLate(): void {
  const { charts, lack, score } = sheet.store.now;
  const ready: readonly (readonly [string, ComponentType, boolean])[] = [
    ['sound', SoundCharts, charts.length > 0 || lack !== undefined],
    ['score', ScorePictures, score.length > 0],
  ];
  for (const [name, Component, isReady] of ready) {
    const place = island(name);
    if (!isReady || place === null || mounted.has(name)) continue;
    mounted.add(name);
    mount(place, Component);
  }
}

// Drawing waits for the screen, so that sound that has arrived never waits for drawing.
options.debounceRendering = (draw) => requestAnimationFrame(draw);

/** Without an engine a hand-out is as it is without scripts: it has its clip, and nothing can be moved. */
function giveUp(): void {
  for (const place of [strip, ...Object.keys(HEAD).flatMap((name) => island(name) ?? [])])
    render(null, place);
  for (const node of clip) island('play')?.append(node);
}

const mounted = new Set<string>();
const strip = stripPlace();
const clip = [...(island('play')?.childNodes ?? [])];
const host = textOf('host');
const sheet = new Worksheet(
  JSON.parse(textOf('files') ?? '{}') as PatchTexts,
  textOf('engine') ?? '',
  host === undefined ? undefined : (JSON.parse(host) as Host),
);

mountIslands({ problems: Problems });
mountHead();
// Settings and patterns appear together, so that neither moves what is below it by coming later.
document.documentElement.dataset.reading = '';
mountLate();
listenToKeys(sheet);
rescueFocus(document);
orderPaper();
sheet.folds.restore(document);
sheet.folds.listen();
addEventListener('beforeunload', (event) => {
  // What is typed and not taken would be lost, too.
  if (sheet.isUnsaved || document.querySelector('[data-draft]') !== null) event.preventDefault();
});

function show(): void {
  const { view, problems, unreadable, failure } = sheet.store.now;
  if (
    view !== undefined ||
    problems.length > 0 ||
    unreadable !== undefined ||
    failure !== undefined
  )
    delete document.documentElement.dataset.reading;
  if (
    host === undefined &&
    failure !== undefined &&
    view === undefined &&
    !mounted.has('nothing')
  ) {
    mounted.add('nothing');
    giveUp();
  }
  if (sheet.store.now.view !== undefined && !mounted.has('all')) {
    mounted.add('all');
    mountIslands({ voices: VoiceTable, settings: SettingsPanel, patterns: Patterns });
    sheet.folds.restore(document);
    document.documentElement.dataset.moving = '';
  }
  mountLate();
}

sheet.store.listen(show);
