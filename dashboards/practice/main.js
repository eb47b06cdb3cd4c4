import { useStoredTheme } from "../shared/theme.js";
import { PracticePage } from "./practice.js";

useStoredTheme();
new PracticePage(document.getElementById("page")).start();
