import { useStoredTheme } from "../shared/theme.js";
import { BenchPage } from "./bench.js";

useStoredTheme();
new BenchPage(document.getElementById("page")).start();
