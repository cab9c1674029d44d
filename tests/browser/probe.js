/* What report_check.sh puts into a copy of a report, before the page's own policy, so that the
 * policy stays in force.  `expected` names the charts that lie beside the page.  When all is
 * looked at, the faults are told to the page around it; 'none' when there are none. */
(function () {
  'use strict';
  var faults = [], least_contrast = 4.5, slack_px = 1, print_px = 180 / 25.4 * 96,
      print_high_px = 267 / 25.4 * 96;
  var told = {}, most_of_a_kind = 3;
  function fault(text) {
    var kind = String(text).split(':')[0].replace(/[0-9.]+/g, '');
    told[kind] = (told[kind] || 0) + 1;
    if (told[kind] <= most_of_a_kind) { faults.push(String(text)); }
  }
  function all(what, where) {
    return Array.prototype.slice.call((where || document).querySelectorAll(what));
  }
  function short(text) { return text.replace(/\s+/g, ' ').trim().slice(0, 40); }
  function isShown(element) { return element.getClientRects().length > 0; }
  window.addEventListener('error', function (event) {
    fault('script or resource error: ' + (event.message || (event.target && event.target.tagName)));
  }, true);
  window.addEventListener('unhandledrejection', function (event) {
    fault('unhandled rejection: ' + event.reason);
  });
  document.addEventListener('securitypolicyviolation', function (event) {
    fault('against the policy: ' + event.violatedDirective + ' ' + event.blockedURI);
  });
  ['alert', 'confirm', 'prompt'].forEach(function (name) {
    window[name] = function (text) { fault('a text of the book ran: ' + name + ' ' + text); };
  });

  /* ---- what is there */
  function checkCharts() {
    var figures = all('figure[data-chart]'), seen = {};
    expected.forEach(function (name) {
      var image = document.querySelector('figure[data-chart="' + name + '"] img');
      if (!image) { fault('chart missing: ' + name); return; }
      var box = image.getBoundingClientRect();
      if (!image.complete || !(image.naturalWidth > 0)) { fault('chart not drawn: ' + name); }
      if (!(box.width > 0 && box.height > 0)) { fault('chart without size: ' + name); }
      if (!(image.alt.length > 30) || !/[0-9]/.test(image.alt)) {
        fault('chart without words and numbers: ' + name);
      }
      if (seen[image.alt]) { fault('two charts with the same words: ' + name); }
      seen[image.alt] = true;
    });
    if (figures.length !== expected.length) {
      fault(figures.length + ' charts in the page, ' + expected.length + ' beside it');
    }
  }
  function checkHeadings() {
    var before = 0;
    if (all('h1').length !== 1) { fault(all('h1').length + ' headings of the first level'); }
    all('h1,h2,h3,h4,h5,h6').forEach(function (heading) {
      var level = Number(heading.tagName.slice(1));
      if (level > before + 1) {
        fault('heading of level ' + level + ' after one of level ' + before + ': ' +
              short(heading.textContent));
      }
      if (short(heading.textContent) === '') { fault('an empty heading'); }
      before = level;
    });
  }
  function checkNames() {
    var seen = {};
    if (!document.documentElement.lang) { fault('the page names no language'); }
    if (all('main').length !== 1) { fault('the page has not one main part'); }
    all('[id]').forEach(function (element) {
      if (seen[element.id]) { fault('two parts named ' + element.id); }
      seen[element.id] = true;
    });
    all('a[href^="#"]').forEach(function (link) {
      if (!seen[link.getAttribute('href').slice(1)]) { fault('a link to nothing: ' + link.href); }
    });
    all('select,input').forEach(function (control) {
      if (!control.labels || control.labels.length === 0) { fault('a control without a label'); }
    });
  }
  function checkTables() {
    all('table').forEach(function (table) {
      if (!table.caption || short(table.caption.textContent) === '') {
        fault('a table without a caption');
      }
      all('th', table).forEach(function (head) {
        if (['col', 'row'].indexOf(head.getAttribute('scope')) === -1) {
          fault('a table head without scope: ' + short(head.textContent));
        }
      });
      if (!table.tHead || all('td', table.tHead).length > 0) { fault('a table without heads'); }
    });
  }

  /* ---- what it does */
  function column(table, at) {
    return Array.prototype.map.call(table.tBodies[0].rows, function (row) {
      return row.cells[at].textContent;
    });
  }
  function number(text) { return /^-?[0-9.]+( |$)/.test(text) ? parseFloat(text) : NaN; }
  function isRising(values) {
    return values.every(function (value, i) { return i === 0 || values[i - 1] <= value; });
  }
  function press(element, key) {
    element.focus();
    if (document.activeElement !== element || element.tabIndex !== 0) {
      fault('a table head is out of reach of the keys');
    }
    element.dispatchEvent(new KeyboardEvent('keydown', {key: key, bubbles: true}));
  }
  function checkColumn(table, head, at) {
    var values = column(table, at).map(number), before = column(table, at).sort().join();
    if (values.some(isNaN) || Math.min.apply(null, values) === Math.max.apply(null, values)) {
      return false;
    }
    press(head, 'Enter');
    if (head.getAttribute('aria-sort') !== 'ascending') { fault('a table head does not sort'); }
    if (!isRising(column(table, at).map(number))) { fault('sorting does not sort'); }
    press(head, ' ');
    if (head.getAttribute('aria-sort') !== 'descending') { fault('the space bar does not sort'); }
    if (!isRising(column(table, at).map(number).reverse())) { fault('sorting down does not sort'); }
    head.click();
    if (head.getAttribute('aria-sort') !== 'ascending') { fault('a click does not sort'); }
    if (column(table, at).sort().join() !== before) { fault('sorting lost rows'); }
    return true;
  }
  function checkSorting() {
    var n_sorted = 0;
    all('table').forEach(function (table) {
      if (table.tBodies[0].rows.length === 1) { return; }
      Array.prototype.some.call(table.tHead.rows[0].cells, function (head, at) {
        var is_sorted = checkColumn(table, head, at);
        n_sorted += is_sorted;
        return is_sorted;
      });
    });
    var is_long = all('table').some(function (table) { return table.tBodies[0].rows.length > 5; });
    if (is_long && n_sorted === 0) { fault('no table to sort'); }
  }
  function shownRows(table) {
    return Array.prototype.filter.call(table.tBodies[0].rows, isShown);
  }
  function checkFilters() {
    all('table').forEach(function (table) {
      var rows = table.tBodies[0].rows, filter = table.parentNode.previousElementSibling;
      filter = filter && filter.querySelector('input');
      if (!filter) {
        if (rows.length > 20 && !table.closest('.cask')) { fault('a long table without a filter'); }
        return;
      }
      function type(text) {
        filter.value = text;
        filter.dispatchEvent(new Event('input'));
        return shownRows(table);
      }
      var want = rows[rows.length - 1].textContent.slice(0, 12).toUpperCase();
      var kept = type(want);
      if (kept.length === 0 || kept.length === rows.length || kept.some(function (row) {
        return row.textContent.toUpperCase().indexOf(want) === -1;
      })) { fault('filtering fails'); }
      if (type('no row says this').length !== 0) { fault('filtering keeps what it should not'); }
      if (type('').length !== rows.length) { fault('rows stay hidden'); }
    });
  }
  function checkChoice() {
    var choice = document.getElementById('cask-choice'), casks = all('.cask');
    if (!choice) { if (casks.length > 0) { fault('no choice of casks'); } return; }
    function choose(value) {
      choice.value = value;
      choice.dispatchEvent(new Event('change'));
      return casks.filter(isShown);
    }
    if (casks.filter(isShown).length !== casks.length) {
      fault('casks are hidden before one is chosen');
    }
    var shown = choose(choice.options[choice.options.length - 1].value);
    if (shown.length !== 1 || shown[0].id !== choice.value) { fault('choosing a cask fails'); }
    whenPrinted(function () {
      if (casks.filter(isShown).length !== casks.length) { fault('print leaves casks out'); }
    });
    if (choose('').length !== casks.length) { fault('casks stay hidden'); }
  }
  function checkRequests() {
    performance.getEntriesByType('resource').forEach(function (entry) {
      if (entry.name.indexOf('data:') !== 0) { fault('request: ' + entry.name); }
    });
  }

  /* ---- how it lies */
  var blocks = 'h1,h2,h3,p,li,pre,figure,table,select';
  function checkOverlaps(when) {
    var boxes = all(blocks).filter(isShown).map(function (element) {
      var holder = element.closest('.wide') || element;
      return {element: element, box: holder.getBoundingClientRect()};
    }).sort(function (a, b) { return a.box.top - b.box.top; });
    boxes.forEach(function (one, i) {
      for (var k = i + 1; k !== boxes.length; k += 1) {
        var other = boxes[k];
        if (other.box.top >= one.box.bottom - slack_px) { break; }
        if (other.box.left < one.box.right - slack_px &&
            one.box.left < other.box.right - slack_px &&
            !one.element.contains(other.element) && !other.element.contains(one.element)) {
          fault('overlap' + when + ': ' + one.element.tagName + ' ' +
                short(one.element.textContent) + ' / ' + other.element.tagName + ' ' +
                short(other.element.textContent));
        }
      }
    });
  }
  function checkWidth() {
    var room = document.documentElement.clientWidth;
    if (document.documentElement.scrollWidth > room) {
      fault('the page is ' + document.documentElement.scrollWidth + ' px wide in a window of ' +
            room);
    }
    all('.wide,figure,p,li,h1,h2,h3,pre').filter(isShown).forEach(function (element) {
      if (element.getBoundingClientRect().right > room + slack_px) {
        fault('reaches out of the window: ' + element.tagName + ' ' + short(element.textContent));
      }
    });
  }

  /* However long a name is, its column leaves the others room. */
  function checkRowHeads() {
    all('tbody th').filter(isShown).forEach(function (head) {
      var holder = head.closest('.wide') || head.closest('table');
      if (head.getBoundingClientRect().width > 0.6 * holder.clientWidth ||
          head.scrollWidth > head.clientWidth + slack_px) {
        fault('the head of a row takes the room of the others: ' + short(head.textContent));
      }
    });
  }

  /* The rules of a medium put in force, and taken back after the look. */
  function under(medium, look) {
    var changed = [];
    Array.prototype.forEach.call(document.styleSheets, function (sheet) {
      Array.prototype.forEach.call(sheet.cssRules, function (rule) {
        if (rule.media && rule.media.mediaText.indexOf(medium) !== -1) {
          changed.push([rule, rule.media.mediaText]);
          rule.media.mediaText = 'all';
        } else if (medium === 'print' && rule.media && /^screen/.test(rule.media.mediaText)) {
          changed.push([rule, rule.media.mediaText]);
          rule.media.mediaText = 'not all';
        }
      });
    });
    if (!changed.some(function (one) { return one[0].media.mediaText === 'all'; })) { fault('the page has no rules for ' + medium); }
    look();
    changed.forEach(function (one) { one[0].media.mediaText = one[1]; });
  }
  /* On A4 with the page's own margins. */
  function whenPrinted(look) {
    under('print', function () {
      document.body.style.width = print_px + 'px';
      look();
      document.body.style.width = '';
    });
  }
  function checkPrint() {
    whenPrinted(function () {
      var edge = document.body.getBoundingClientRect().right;
      all('table,figure,pre,p').filter(isShown).forEach(function (element) {
        var right = Math.max(element.getBoundingClientRect().right,
          element.getBoundingClientRect().left + element.scrollWidth);
        if (right > edge + slack_px) {
          fault('cut in print, by ' + Math.round(right - edge) + ' px: ' + element.tagName + ' ' +
                short(element.caption ? element.caption.textContent : element.textContent));
        }
      });
      all('.choice').filter(isShown).forEach(function () { fault('controls are printed'); });
      all('.cask').forEach(function (cask) {
        if (getComputedStyle(cask).breakInside !== 'avoid') { fault('a cask is parted in print'); }
      });
      if (all('.cask figure').length > 0 && !all('.cask').some(function (cask) {
        return cask.getBoundingClientRect().height < print_high_px / 2;
      })) { fault('no two casks fit a page in print'); }
      checkOverlaps(' in print');
      checkContrast('in print');
    });
  }

  /* ---- contrast: relative luminance and ratio of WCAG 2.1 (W3C 2018) */
  function colour(text) {
    var parts = (text.match(/[0-9.]+/g) || []).map(Number);
    var unit = text.indexOf('color(') === 0 ? 255 : 1;
    return {rgb: parts.slice(0, 3).map(function (part) { return part * unit; }),
            alpha: parts.length > 3 ? parts[3] : 1};
  }
  function luminance(rgb) {
    var linear = rgb.map(function (value) {
      var part = value / 255;
      return part <= 0.04045 ? part / 12.92 : Math.pow((part + 0.055) / 1.055, 2.4);
    });
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2];
  }
  function contrast(a, b) {
    var one = luminance(a), other = luminance(b);
    return (Math.max(one, other) + 0.05) / (Math.min(one, other) + 0.05);
  }
  function over(top, below) {
    return top.rgb.map(function (part, i) { return part * top.alpha + below[i] * (1 - top.alpha); });
  }
  function behind(element) {
    if (!element) { return [255, 255, 255]; }
    var back = colour(getComputedStyle(element).backgroundColor);
    return back.alpha === 1 ? back.rgb : over(back, behind(element.parentElement));
  }
  function checkContrast(when) {
    var walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    var n = 0, seen = new Set();
    while (walker.nextNode()) {
      var element = walker.currentNode.parentElement;
      if (short(walker.currentNode.data) === '' || seen.has(element) || !isShown(element) ||
          element.tagName === 'OPTION') { continue; }
      seen.add(element);
      var back = behind(element), style = getComputedStyle(element);
      var ratio = contrast(over(colour(style.color), back), back);
      n += 1;
      if (!(ratio >= least_contrast) || Number(style.opacity) !== 1) {
        fault('contrast ' + when + ' ' + ratio.toFixed(2) + ': ' + element.tagName + ' ' +
              short(element.textContent));
      }
    }
    if (n === 0) { fault('no text to see'); }
  }
  function checkDark() {
    var light = behind(document.body);
    under('dark', function () {
      document.documentElement.style.colorScheme = 'dark';
      if (luminance(behind(document.body)) >= luminance(light)) { fault('the dark page is light'); }
      checkContrast('in the dark');
      document.documentElement.style.colorScheme = '';
    });
  }

  /* ---- inside the pictures: texts apart, inside the frame, and seen against what lies below */
  function below(svg, text, box) {
    var back = [255, 255, 255], at = svg.createSVGPoint();
    all('path,polygon,rect', svg).forEach(function (shape) {
      var fill = getComputedStyle(shape).fill, style = getComputedStyle(shape);
      var is_before = shape.compareDocumentPosition(text) & Node.DOCUMENT_POSITION_FOLLOWING;
      if (!is_before || fill === 'none' || !shape.getScreenCTM()) { return; }
      at.x = box.left + box.width / 2;
      at.y = box.top + box.height / 2;
      if (shape.isPointInFill(at.matrixTransform(shape.getScreenCTM().inverse()))) {
        var top = colour(fill);
        top.alpha *= Number(style.fillOpacity);
        back = over(top, back);
      }
    });
    return back;
  }
  function checkPicture(name, svg) {
    var frame = svg.getBoundingClientRect();
    var texts = all('text', svg).filter(function (text) { return short(text.textContent) !== ''; });
    var boxes = texts.map(function (text) { return text.getBoundingClientRect(); });
    texts.forEach(function (text, i) {
      var box = boxes[i], back = below(svg, text, box);
      var ratio = contrast(over(colour(getComputedStyle(text).fill), back), back);
      if (!(ratio >= least_contrast)) {
        fault('contrast in ' + name + ' ' + ratio.toFixed(2) + ': ' + short(text.textContent));
      }
      if (box.left < frame.left - slack_px || box.right > frame.right + slack_px) {
        fault('text out of ' + name + ': ' + short(text.textContent));
      }
      for (var k = i + 1; k !== boxes.length; k += 1) {
        var wide = Math.min(box.right, boxes[k].right) - Math.max(box.left, boxes[k].left);
        var high = Math.min(box.bottom, boxes[k].bottom) - Math.max(box.top, boxes[k].top);
        /* A label in a frame of its own is written twice, at one place. */
        if (wide > 2 && high > 0.35 * box.height && texts[k].textContent !== text.textContent) {
          fault('texts on each other in ' + name + ': ' + short(text.textContent) + ' / ' +
                short(texts[k].textContent));
        }
      }
    });
    return texts.length;
  }
  function checkPictures() {
    all('figure[data-chart] img').forEach(function (image) {
      var bytes = Uint8Array.from(atob(image.src.split(',')[1]), function (one) {
        return one.charCodeAt(0);
      });
      var file = new DOMParser().parseFromString(new TextDecoder().decode(bytes), 'image/svg+xml');
      var name = image.parentNode.getAttribute('data-chart');
      if (file.querySelector('parsererror')) { fault('a picture that is no SVG: ' + name); return; }
      var svg = document.body.appendChild(document.importNode(file.documentElement, true));
      svg.setAttribute('width', '680');
      svg.setAttribute('height', String(680 * image.height / image.width));
      if (checkPicture(name, svg) === 0) { fault('a picture without text: ' + name); }
      svg.remove();
    });
  }

  window.addEventListener('load', function () {
    setTimeout(function () {
      try {
        [checkCharts, checkHeadings, checkNames, checkTables, checkWidth, checkRowHeads, checkSorting,
         checkFilters, checkChoice, checkRequests, checkPrint, checkDark].forEach(function (check) {
          check();
        });
        checkOverlaps('');
        checkPictures();
        checkContrast('in the light');
      } catch (error) {
        fault('the probe failed: ' + error);
      }
      window.parent.postMessage(faults.length === 0 ? 'none' :
        faults.join('; ').replace(/["<>&\n]/g, ' '), '*');
    }, 100);
  });
}());
