// SPDX-License-Identifier: Apache-2.0
import { render } from 'preact';
import 'uplot/dist/uPlot.min.css';
import './style/tokens.css';
import './style/base.css';
import './style/controls.css';
import './style/frame.css';
import './style/frame_phone.css';
import './style/grid.css';
import './style/node.css';
import './style/views.css';
import './style/print.css';
import './spectrum/spectrum.css';
import './routes/routes.css';
import { startSound } from './alarms/sound';
import { App } from './app';
import { startRouting } from './browser/route';
import { findOut } from './session/session';

startRouting();
startSound();
const page = document.getElementById('page');
if (page) render(<App />, page);
void findOut();
