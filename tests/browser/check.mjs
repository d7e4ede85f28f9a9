// Opens a page in headless Chromium and reports, as JSON, what a reader would stumble over.
// Usage: node check.mjs CHROMIUM PAGE.html FOLDER-FOR-PICTURES
import { createRequire } from 'node:module';
import { readFileSync, writeFileSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import puppeteer from 'puppeteer-core';

const [browserPath, page_, pictures] = process.argv.slice(2);
const axeSource = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const widths = { phone: 360, tablet: 820, desktop: 1366 };
const browser = await puppeteer.launch({
  executablePath: browserPath, headless: true, args: [
    '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
    '--disable-component-update', '--disable-sync',
  ], // with a new empty profile each time, as the library starts it
});
const report = { console: [], requests: [], overflow: {}, serious: {}, pages: {} };
try {
  const page = await browser.newPage();
  const address = pathToFileURL(page_).href;
  page.on('console', (message) => report.console.push(message.text()));
  page.on('pageerror', (error) => report.console.push(String(error)));
  page.on('request', (request) => { if (request.url() !== address) report.requests.push(request.url()); });
  for (const [name, width] of Object.entries(widths)) {
    await page.setViewport({ width, height: 900 });
    await page.goto(address, { waitUntil: 'load' });
    report.overflow[name] = await page.evaluate(() => {
      const wide = document.documentElement.clientWidth;
      const shut = (node) => node.closest('.scroll, .picture, .skip, .hidden');
      const out = [...document.body.querySelectorAll('*')]
        .filter((node) => !shut(node) && node.getBoundingClientRect().right > wide + 1)
        .map((node) => `${node.tagName} ${node.className} ${node.textContent.slice(0, 40)}`);
      return { beyond: document.documentElement.scrollWidth - wide, out: out.slice(0, 5) };
    });
    await page.screenshot({ path: `${pictures}/${name}.png` });
    await page.evaluate(axeSource);
    report.serious[name] = await page.evaluate(async () => {
      const found = await window.axe.run(document, { resultTypes: ['violations'] });
      return found.violations
        .filter((one) => ['serious', 'critical'].includes(one.impact))
        .map((one) => `${one.id}: ${one.help} (${one.nodes.length}, ${one.nodes[0].html.slice(0, 120)})`);
    });
  }
  for (const format of ['A4', 'Letter']) {
    writeFileSync(`${pictures}/${format}.pdf`, await page.pdf({ format, preferCSSPageSize: false }));
  }
} finally {
  await browser.close();
}
console.log(JSON.stringify(report));
