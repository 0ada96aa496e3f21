/** Starts the screen: opens the link to the gateway and puts the app on the page. */
import { mount } from 'svelte';
import './style/themes.css';
import './style/base.css';
import './style/print.css';
import App from './App.svelte';
import { site } from './state/site-view.svelte.ts';

const target = document.getElementById('app');
if (!target) throw new Error('index.html has no #app');
site.start();
mount(App, { target });
