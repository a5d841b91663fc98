/* Counts what is typed as a phone would: septets in the 7-bit alphabet, else 16-bit units.
   The page works without it; the server counts what it shows. */
(function () {
  "use strict";
  var basic = document.body.dataset.basic;
  var extension = document.body.dataset.extension;

  function size(text) {
    var units = 0;
    for (var letter of text) {
      if (extension.indexOf(letter) >= 0) { units += 2; }
      else if (basic.indexOf(letter) >= 0) { units += 1; }
      else { return { units: text.length, one: 70, part: 67 }; }
    }
    return { units: units, one: 160, part: 153 };
  }

  function tell(field, place) {
    var found = size(field.value);
    var parts = found.units <= found.one ? 1 : Math.ceil(found.units / found.part);
    place.textContent = field.value === "" ? "" :
      found.units + " / " + found.one + (parts > 1 ? " \u00d7 " + parts : "");
  }

  document.querySelectorAll("[data-counter]").forEach(function (field) {
    var place = document.getElementById(field.dataset.counter);
    field.addEventListener("input", function () { tell(field, place); });
    tell(field, place);
  });
}());
