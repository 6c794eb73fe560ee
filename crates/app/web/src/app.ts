// Behaviour on top of pages that work without it: live search, the form's
// comfort, and the map that points at its rows.
import htmx from "htmx.org";
import { openCamera } from "./colour/camera";
import { markPhotos } from "./colour/marking";
import { oneColourOnly, sendPhotos } from "./colour/sending";
import { guardTheForm } from "./form";
import { linkMapAndRows } from "./map";
import { followTheTape } from "./measuring";
import { talkPartByPart } from "./talk";

htmx.config.includeIndicatorStyles = false;
htmx.config.allowEval = false;
htmx.config.selfRequestsOnly = true;
htmx.config.historyCacheSize = 0;

document.addEventListener("DOMContentLoaded", () => {
  document.documentElement.classList.add("scripted");
  guardTheForm();
  followTheTape();
  linkMapAndRows();
  sendPhotos();
  markPhotos();
  openCamera();
  oneColourOnly();
  talkPartByPart();
});
