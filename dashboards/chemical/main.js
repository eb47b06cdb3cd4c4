import { useStoredTheme } from "../shared/theme.js";
import { ChemicalPage } from "./chemical.js";

useStoredTheme();
new ChemicalPage(document.getElementById("page")).start();
