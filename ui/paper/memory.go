package paper

import (
	"fmt"

	"pleach/model"
	"pleach/model/analysis"
)

// fromMemory names the figures behind the drawing that were written down from
// memory and not checked against a print, as far as this plan rests on them.
func (s *sheet) fromMemory() (out []string) {
	p, res := s.in.Plan, s.in.Result
	if res == nil {
		return nil
	}
	if len(res.Links) > 0 {
		out = append(out, "Losses of an antenna near metal and at the end of a battery's life; the share of the first Fresnel zone that counts as clear (0.6, ITU-R P.530); "+
			fmt.Sprintf("the level above which a radio may no longer follow what it hears (%s).", unit(analysis.Overloaded, 0, "dBm")))
		if len(p.Of(model.KindFoliage)) > 0 {
			out = append(out, "What bare and wet trees lose against trees in leaf (ITU-R P.833), and their loss by depth (Weissberger 1982).")
		}
		if len(p.Of(model.KindBuilding)) > 0 {
			out = append(out, "What reinforced concrete loses beyond plain concrete.")
		}
		if set := p.Settings; set.Calibration.Use && set.Calibration.Saturated == nil {
			out = append(out, "The level above which a reading of signal is set aside as saturated.")
		}
	}
	if st := res.Study; st != nil && st.Compliance != nil && st.Compliance.FromMemory() {
		out = append(out, "Bands of the radio rules that decide for a device of this plan: the conditions of the licence in force hold.")
	}
	return out
}
