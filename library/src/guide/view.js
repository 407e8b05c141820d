/* The screen: elements made of text and of the pieces that the sheets are drawn with. */

function el(name, attributes, children) {
  const made = document.createElement(name);
  Object.keys(attributes || {}).forEach(key => {
    if (key === 'onclick') made.addEventListener('click', attributes[key]);
    else made.setAttribute(key, attributes[key]);
  });
  (children || []).forEach(child => {
    if (child !== null) made.appendChild(typeof child === 'string' ? document.createTextNode(child) : child);
  });
  return made;
}

/** A picture of pieces; all that is put into it are numbers, names of pieces and drawings of this page. */
function picture(kind, size, body, label) {
  const box = el('div');
  box.innerHTML = '<svg class="' + kind + '" role="img" viewBox="0 0 ' + size[0] + ' ' + size[1] + '">' + body + '</svg>';
  const made = box.firstChild;
  made.setAttribute('aria-label', label);
  return made;
}

function piece(name, x, y) {
  return '<use xlink:href="#' + name + '" x="' + x + '" y="' + y + '"/>';
}

const BANKS = { address: 'Address switches', data: 'Data switches', sense: 'Sense switches' };

function leverPicture(setting) {
  const places = setting.bank.places;
  const body = places.at.map((x, at) => {
    const bit = setting.bank.count - 1 - at;
    return piece('lever-' + (setting.value >> bit & 1) + (setting.moved >> bit & 1), x, places.middle);
  });
  return el('div', {}, [el('p', { class: 'bank' }, [BANKS[setting.bank.name]]),
    picture('levers', places.size, places.ground + body.join(''), BANKS[setting.bank.name] + ': ' + ups(setting))]);
}

const LOOKS = { '*': 'lit', '.': 'dark', '?': 'lit, dark or flickering', '+': 'flickers' };

function lampPicture(places, signs, label) {
  const body = places.at.map((x, at) => piece('lamp-' + signs.charCodeAt(at), x, places.middle));
  const told = signs.split('').map((sign, at) => (signs.length - 1 - at) + ' ' + (LOOKS[sign] || 'brightness ' + sign));
  return picture('lights' + (signs.length < 16 ? ' short' : ''), places.size, body.join(''), label + ' lights: ' + told.join(', '));
}

function lightsView(guide, lights) {
  const parts = [];
  if (lights.address) parts.push(el('p', {}, ['Address lights']), lampPicture(guide.pictures.lamps16, lights.address, 'Address'));
  if (lights.data) parts.push(el('p', {}, ['Data lights']), lampPicture(guide.pictures.lamps8, lights.data, 'Data'));
  if (lights.status.length) {
    const item = pair => el('li', {}, [oneLamp(pair[1]), ' ' + pair[0] + ' ', el('span', { class: 'unseen' }, [LOOKS[pair[1]] || ''])]);
    parts.push(el('ul', { class: 'status', 'aria-label': 'Status lights' }, lights.status.map(item)));
  }
  return el('div', {}, parts);
}

/** A lamp by itself. */
function oneLamp(sign) {
  const made = picture('lamp', [3.8, 3.8], piece('lamp-' + sign.charCodeAt(0), 1.9, 1.9), '');
  made.removeAttribute('role');
  made.setAttribute('aria-hidden', 'true');
  return made;
}

/** The eight lamps of a check, to be tapped as they are seen. */
function lampButtons(work, tap) {
  const lamps = work.where.lamps;
  const buttons = [7, 6, 5, 4, 3, 2, 1, 0].map((bit, at) => {
    const lit = lamps >> bit & 1;
    return el('button', {
      type: 'button', 'aria-pressed': lit ? 'true' : 'false', 'data-lamp': bit,
      'aria-label': 'Data lamp ' + bit + (lit ? ', lit' : ', dark'),
      class: at > 0 && work.guide.pictures.lamps8.opens[at] ? 'opens' : '', onclick: event => tap(bit, event)
    }, [oneLamp(lit ? '*' : '.'), String(bit)]);
  });
  return el('div', { class: 'lamps', role: 'group', 'aria-label': 'Data lamps as seen' }, buttons);
}

/** A thing to be chosen by a press. */
function choice(label, chosen) {
  return el('button', { type: 'button', onclick: chosen }, [label]);
}

function cautionView(work, chosen) {
  const way = work.guide.ways[work.where.way];
  const doubts = way.doubts.map(doubt => el('p', { class: 'wrong' }, [el('strong', {}, [sentence(doubt[0])]), ' ' + sentence(doubt[1])]));
  const list = way.cautions.map(pair => [el('dt', {}, [pair[0]]), el('dd', {}, [pair[1]])]);
  const rehearsed = way.rehearsed
    ? (way.doubts.length ? [] : [el('p', {}, ['This start was played in a rehearsal and does there what the chain file says. Of the machine at hand that says nothing.'])])
    : [el('p', { class: 'wrong' }, [el('strong', {}, ['This start was not rehearsed.']), ' Nothing says yet that it goes as shown here.'])];
  const others = work.guide.ways.length > 1
    ? [el('p', {}, ['Start: ', el('strong', {}, [way.name])]), el('div', { class: 'choices' }, work.guide.ways.map((other, at) =>
      choice((at === work.where.way ? 'Chosen: ' : 'Take instead: ') + other.name, () => chosen(at))))]
    : [];
  return [el('h2', {}, ['Cautions, before anything is touched'])].concat(doubts,
    [el('dl', {}, [].concat.apply([], list))], others, [el('p', {}, [sentence(way.facts)])], rehearsed);
}

function actionView(work, tap, none, ask) {
  const action = work.action();
  const setting = work.setting(action);
  const parts = [];
  if (action.at) {
    const facts = [el('span', {}, [action.at])];
    if (action.byte !== undefined) facts.push(el('span', {}, [el('small', {}, ['byte ']), work.guide.bytes[action.byte]]));
    parts.push(el('h2', { class: 'where' }, facts));
    if (action.byte !== undefined || action.words) {
      parts.push(el('p', { class: action.byte !== undefined ? 'statement' : 'do' }, [action.words || '\u00a0']));
    }
    if (action.note) parts.push(el('p', {}, [action.note]));
  } else {
    parts.push(el('h2', { class: 'do' }, [action.words]));
  }
  if (setting) {
    parts.push(leverPicture(setting), el('p', {}, [moves(setting)]));
  }
  if (action.key) parts.push(el('p', {}, ['Press ', el('strong', { class: 'key' }, [action.key])]));
  if (work.asks()) {
    parts.push(el('p', { class: 'do' }, ['Tap each data lamp that is lit.']), lampButtons(work, tap),
      el('div', { class: 'choices' }, [choice('None is lit', none)]));
  } else if (action.check !== undefined) {
    parts.push(el('p', {}, ['It must be ' + work.guide.bytes[action.check] + '.']));
  }
  if (action.shows) parts.push(el('p', {}, [el('strong', {}, ['Shows: ']), action.shows]));
  if (action.lights) parts.push(lightsView(work.guide, action.lights));
  if (action.otherwise) parts.push(el('p', {}, [el('strong', {}, ['If not: ']), action.otherwise]));
  if (action.runs && ask) parts.push(el('div', { class: 'choices' }, [choice('It does not go as shown', ask)]));
  return el('div', {}, parts);
}

/** Words of the command line, where names stand between marks. */
function plain(text) {
  return text.replace(/`/g, '');
}

/** More answers than this are a list to choose from. */
const FEW = 10;

function askView(work, answer, leave, anew) {
  const place = work.asked();
  const ends = el('div', { class: 'choices' }, [choice('Back to the step that did not go as shown', leave), choice('Begin anew, from power-on', anew)]);
  if (!place) {
    return [el('h2', {}, ['No questions are in this page']),
      el('p', {}, ['They come from faults that were played. At a desk: coldwright guide makes this page with them.']), ends];
  }
  const parts = [el('h2', {}, [place.ask ? plain(place.ask.charAt(0).toUpperCase() + place.ask.slice(1)) : 'What it may be'])];
  if (place.ask) {
    const list = place.answers.length <= FEW
      ? place.answers.map(pair => choice(pair[0], () => answer(pair[1])))
      : chosenFrom(place.answers, answer);
    parts.push(el('div', { class: 'choices' }, list.concat([choice('Something else, or not sure', () => answer(place.unsure))])));
  }
  return parts.concat(foundView(work, place), [ends]);
}

function chosenFrom(answers, answer) {
  const options = [el('option', { value: '' }, ['choose what is seen'])].concat(
    answers.map(pair => el('option', { value: pair[1] }, [pair[0]])));
  const list = el('select', { 'aria-label': 'What is seen' }, options);
  return [list, choice('That is what is seen', () => { if (list.value) answer(Number(list.value)); })];
}

/** The faults that are left, the likeliest first. */
function foundView(work, place) {
  const texts = work.guide.ways[work.where.way].questions.texts;
  const told = place.found.map(found => {
    const such = found.count > 1 ? found.count + ' of them, such as ' : '';
    return [el('dt', {}, [(found.perhaps ? 'perhaps ' : '') + texts[found.kind] + ': ' + such + plain(found.fault)]),
      el('dd', {}, ['Mend: ' + plain(texts[found.mend])])];
  });
  const faults = place.left === 1 ? '1 single fault is left' : place.left + ' single faults are left';
  const parts = [el('p', {}, [faults + (place.left > place.explain ? ', of which ' + place.explain + ' show all that was answered' : '') + '. The likeliest first:']),
    el('dl', {}, [].concat.apply([], told))];
  if (place.good) parts.push(el('p', {}, ['A start without a fault looks so too.']));
  if (!place.ask) {
    parts.push(el('p', {}, ['If it is none of these: at a desk, coldwright diagnose asks further, and tries two faults at once.']));
  }
  return place.ask ? [el('details', {}, [el('summary', {}, ['What it may be so far'])].concat(parts))] : parts;
}

function slipView(work, again, deposit) {
  const slip = work.slip();
  const bank = work.guide.pictures.data;
  const wrong = slip.seen ^ slip.wanted;
  return [
    el('h2', {}, ['A byte is wrong']),
    el('p', { class: 'wrong do' }, [slipWords(slip, work.guide.bytes)]),
    leverPicture({ bank: bank, value: slip.wanted, moved: wrong }),
    el('p', {}, ['Go on to mend it: EXAMINE its address, deposit it again, check it.']),
    el('div', { class: 'choices' }, [
      choice('A lamp was tapped wrong: look again', again),
      choice('More bytes are wrong: deposit again from here on', deposit)
    ])
  ];
}

function doneView(work, anew, ask) {
  const mended = work.where.mended;
  const told = mended.length ? 'Bytes that were mended: ' + mended.join('; ') + '.' : 'No byte had to be mended.';
  return [
    el('h2', {}, ['That was the last step']),
    el('p', {}, ['Every step was shown, and what was seen was told by you: the page has not looked at the machine. ' + told]),
    el('div', { class: 'choices' }, [choice('It does not go as shown', ask), choice('Begin anew', anew)])
  ];
}

function resumeView(work, goOn, anew) {
  const where = work.where;
  const part = work.guide.ways[where.way].parts[work.actions()[where.at].part];
  return [
    el('h2', {}, ['You left off at step ' + (where.at + 1) + ' of ' + work.actions().length]),
    el('p', {}, [part + '. The step is done once more from its beginning, with every lever set.']),
    el('p', {}, [el('strong', {}, ['Was power off meanwhile? ']), 'Then memory is lost: begin anew.']),
    el('div', { class: 'choices' }, [choice('Go on from there', goOn), choice('Begin anew', anew)])
  ];
}
