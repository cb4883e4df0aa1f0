/* Times are the event's own: on a device with another clock, they say whose they are and, when pointed at, one's own. */
(() => {
  const tellClocks = (part) => {
    for (const time of part.querySelectorAll("time[data-zone]")) {
      const at = new Date(time.dateTime), [, sign, hours, minutes] = time.dateTime.match(/([+-])(\d\d):(\d\d)$/) || [];
      if (!hours || -at.getTimezoneOffset() === Number(`${sign}1`) * (60 * hours + Number(minutes))) continue;
      if (!time.textContent.endsWith(` ${time.dataset.zone}`)) time.append(` ${time.dataset.zone}`);
      time.title = `${at.toLocaleString("en-US", { weekday: "short", month: "short", day: "numeric", hour: "numeric", minute: "2-digit", timeZoneName: "short" })} where you are`;
    }
  };
  tellClocks(document);
  document.addEventListener("htmx:afterSwap", ({ detail }) => tellClocks(detail.target));
})();
