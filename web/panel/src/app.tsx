// SPDX-License-Identifier: Apache-2.0
// The frame: the strip above, the views, and what is in them.
import type { JSX } from 'preact';
import { useEffect } from 'preact/hooks';
import { AlarmsView } from './alarms/alarms_view';
import { route } from './browser/route';
import { CameBack } from './edit/came_back';
import { connection, state } from './feed/store';
import { ControlBar } from './frame/control_bar';
import { FeedBar } from './frame/feed_bar';
import { Help, helpOpen } from './frame/help';
import { onKey } from './frame/keys';
import { Navigation } from './frame/navigation';
import { SignIn } from './frame/sign_in';
import { Strip } from './frame/strip';
import { GridView } from './grid/grid_view';
import { JournalView } from './journal/journal_view';
import { OrderView } from './order/order_view';
import { RoutesView } from './routes/routes_view';
import { standing } from './session/session';
import { SpectrumView } from './spectrum/spectrum_view';
import { Announcer } from './ui/announce';

function View(): JSX.Element {
  switch (route.value.view) {
    case 'grid':
      return <GridView />;
    case 'spectrum':
      return <SpectrumView />;
    case 'order':
      return <OrderView />;
    case 'journal':
      return <JournalView />;
    case 'alarms':
      return <AlarmsView />;
    case 'routes':
      return <RoutesView />;
  }
}

export function App(): JSX.Element {
  useEffect(() => {
    addEventListener('keydown', onKey);
    return () => removeEventListener('keydown', onKey);
  }, []);
  if (standing.value.at === 'out') return <SignIn because={standing.value.because} />;
  const lost = connection.value.at === 'lost';
  return (
    <div class={lost ? 'frame lost' : 'frame'}>
      <a
        class="skip"
        href="#main"
        onClick={(event) => {
          // The address belongs to the views.
          event.preventDefault();
          document.getElementById('main')?.focus();
        }}
      >
        To the view
      </a>
      <Strip />
      <Navigation />
      <main
        id="main"
        tabIndex={route.value.view === 'spectrum' ? 0 : -1}
        class={`view ${route.value.view}`}
      >
        <div class="bars">
          <FeedBar />
          <ControlBar />
          <CameBack />
        </div>
        {state.value.rack ? <View /> : !lost && <p class="waiting">Connecting to the rack …</p>}
      </main>
      <Announcer />
      {helpOpen.value && <Help />}
    </div>
  );
}
