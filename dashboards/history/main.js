import { useStoredTheme } from "../shared/theme.js";
import { HistoryPage } from "./history.js";

useStoredTheme();
new HistoryPage(document.getElementById("page")).start();
