// SPDX-License-Identifier: Apache-2.0
// Says that what stands on the page is old, and since when.
import type { JSX } from 'preact';
import { connection, tick } from '../feed/store';
import { duration, timeOfDay } from '../model/format';
import { Shape } from '../ui/shape';

function Since({ since }: { since: number }): JSX.Element {
  void tick.value;
  return (
    <span class="steady">
      {duration(Math.max(0, Math.floor((Date.now() - since) / 1000) * 1000))}
    </span>
  );
}

export function FeedBar(): JSX.Element | null {
  const now = connection.value;
  if (now.at !== 'lost') return null;
  return (
    <div class="feed-bar">
      <Shape level="fault" />
      <p role="alert">
        <b>No live feed since {timeOfDay(now.since)}.</b> What stands here is old, and nothing can
        be changed until it is back. {now.why}
      </p>
      <p>
        <Since since={now.since} /> ago; trying again
      </p>
    </div>
  );
}
