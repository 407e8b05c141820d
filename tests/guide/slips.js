/* Every lamp of every check is told wrong once; what the page says of it. */
(function () {
  const guide = JSON.parse(document.getElementById('data').textContent);
  const told = [];
  guide.ways.forEach((way, number) => way.actions.forEach((action, at) => {
    if (action.check === undefined) return;
    for (let bit = 0; bit < 8; bit++) {
      const work = new Work(guide, Object.assign(beginning(), { way: number, at: at }));
      for (let lamp = 0; lamp < 8; lamp++) if ((action.check ^ 1 << bit) >> lamp & 1) work.tap(lamp);
      if (action.check === 1 << bit) work.none();
      work.goOn();
      const words = work.where.slip ? slipWords(work.slip(), guide.bytes) : 'not found';
      const drawn = slipView(work, null, null)[2].querySelectorAll('use');
      const off = [].map.call(drawn, use => use.getAttribute('xlink:href').slice(-2)).join(' ');
      work.goOn();
      told.push(words + ' ' + off + ' ' + work.where.aside.map(one => [one.key, one.at, one.levers.value].join('=')).join(' '));
    }
  }));
  return told;
}());
