/** What a chapter shows: its own lines of the patterns, its own blocks of the diagram. */

import { useEffect, useMemo } from 'preact/hooks';
import type { ChannelView, RhythmView, VoiceView } from '../../protocol.ts';
import { useKnown } from '../use-sheet.ts';
import { voiceNamed } from './chapters.ts';

/** The voice that is chosen; undefined for the whole patch. */
export function useChapter(): VoiceView | undefined {
  const view = useKnown('view');
  const voice = useKnown('voice');
  return voiceNamed(view, voice);
}

/** Which lines of the patterns are those of other chapters. For a voice that no channel starts, all lines are shown. */
export function useAside(): (rhythm: RhythmView, channel: ChannelView) => boolean {
  const channels = useChapter()?.channels ?? [];
  return useMemo(() => {
    const ours = new Set(channels.map(({ module, channel }) => `${module}.${channel}`));
    return ({ module }, { name }) => ours.size > 0 && !ours.has(`${module}.${name}`);
  }, [channels]);
}

/** Draws blocks outside of the chapter paler, in diagrams that show more than it. */
export function useMarkedBlocks(): void {
  const chapter = useChapter();
  const drawn = useKnown('drawn');
  useEffect(() => {
    const ours = new Set(chapter?.modules);
    for (const block of document.querySelectorAll<SVGElement>('[data-block]')) {
      const { block: name = '' } = block.dataset;
      const isOurs = chapter === undefined || ours.has(name) || name === chapter.name;
      if (isOurs) delete block.dataset.aside;
      else block.dataset.aside = '';
    }
  }, [chapter, drawn]);
}
