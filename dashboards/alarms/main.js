import { fitLetters, useStoredTheme } from "../shared/theme.js";
import { AlarmPage } from "./alarms.js";

useStoredTheme();
fitLetters();
new AlarmPage(document.getElementById("page")).start();
