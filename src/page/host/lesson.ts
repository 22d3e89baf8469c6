/** The page of a lesson: one HTML file beside the clips, with the words, the picture and the sound of each stage. */

import { readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { documentOf } from '../../output/document/document.ts';
import { scrolled } from '../../output/document/markup.ts';
import { LISTENING_CARE } from '../../output/document/notices.ts';
import {
  cueOf,
  type Lesson,
  levelOf,
  type Marks,
  paragraphsOf,
  type ToldStage,
  titleOf,
} from '../../output/lesson/lesson-words.ts';
import { escaped, linkTo, withMinus } from '../../output/markup.ts';
import { jackName } from '../../patch/patch.ts';
import { LESSON_STYLE } from '../lesson/style.ts';
import type { PageClip } from '../pieces/clip.ts';
import { PIECES_STYLE } from '../pieces/style.ts';
import type { Program } from './bundles.ts';
import { besideSources, MOST_EMBEDDED, WITHOUT_SCRIPTS } from './clips-beside.ts';

/** Writes the page. @param folder where the clips lie. */
export function lessonPage(lesson: Lesson, folder: string, { script, notices }: Program): string {
  const { patch, stages, joined } = lesson;
  const clips = clipsOf(lesson, folder);
  return documentOf({
    title: titleOf(lesson),
    style: '',
    skip: { to: 'stage-1', words: 'To the first stage' },
    header: `<h1>${escaped(titleOf(lesson))}</h1>
${patch.about.trim() === '' ? '' : `<p>${escaped(patch.about.trim())}</p>\n`}<p>${escaped(withMinus(levelOf(lesson)))} <a href="${linkTo(joined)}">All of them one after the other</a>, with a cue point at each.</p>
<p class="quiet">${LISTENING_CARE}</p>
${WITHOUT_SCRIPTS}
${overview(stages)}
<div data-island="listen"></div>`,
    sections: stages.map((told, index) => ({
      name: `stage-${index + 1}`,
      heading: told.stage.title,
      body: stageBody(told, index),
    })),
    live: {
      style: PIECES_STYLE + LESSON_STYLE,
      script,
      notices,
      data: { clips },
      sources: besideSources(clips.filter((clip) => clip !== null)),
    },
  });
}

/** For each stage its clip, and null for one that is a picture only. */
function clipsOf({ stages, sampleRate }: Lesson, folder: string): readonly (PageClip | null)[] {
  const bytes = stages.reduce(
    (sum, { clip }) => sum + (clip === undefined ? 0 : statSync(join(folder, clip)).size),
    0,
  );
  return stages.map(({ stage, clip }, index) => {
    if (clip === undefined) return null;
    const data = bytes <= MOST_EMBEDDED && readFileSync(join(folder, clip)).toString('base64');
    return {
      name: `${index + 1}. ${stage.title}`,
      file: clip,
      sampleRate,
      ...(data !== false && { data }),
    };
  });
}

function overview(stages: readonly ToldStage[]): string {
  const rows = stages.map(
    (told, index) =>
      `<tr><td>${index + 1}</td><th scope="row"><a href="#stage-${index + 1}">${escaped(told.stage.title)}</a></th><td><code>${escaped(jackName(told.stage.jack))}</code></td><td>${cueOf(told)}</td></tr>`,
  );
  return scrolled(
    `<table class="overview">
<thead><tr><th scope="col">no.</th><th scope="col">stage</th><th scope="col">at the jack</th><th scope="col">in the joined file</th></tr></thead>
<tbody>
${rows.join('\n')}
</tbody>
</table>`,
    'Stages',
  );
}

function stageBody(told: ToldStage, index: number): string {
  const { clip, picture, drawing, stage } = told;
  const words = paragraphsOf(told, MARKS).map((paragraph) => `<p>${paragraph}</p>`);
  const listen =
    clip === undefined
      ? ''
      : `<div class="hear" data-stage="${index}"></div>
`;
  const files = [
    `<a href="${linkTo(picture)}">${escaped(picture)}</a>`,
    ...(clip === undefined ? [] : [`<a href="${linkTo(clip)}">${escaped(clip)}</a>`]),
  ];
  return `${listen}${words.join('\n')}
<figure>
${scrolled(drawing, `Picture: ${stage.title}`)}
<figcaption>Files: ${files.join(', ')}</figcaption>
</figure>`;
}

const MARKS: Marks = {
  plain: escaped,
  strong: (words) => `<b>${escaped(words)}</b>`,
  code: (words) => `<code>${escaped(words)}</code>`,
};
