package demo

import "example.org/headpond/model/quantity"

// The columns of the rounds that this package writes.
const (
	keyVolts    = quantity.Key(quantity.Volts)
	keyHertz    = quantity.Key(quantity.Hertz)
	keyLoad     = quantity.Key(quantity.LoadKW)
	keyShare    = quantity.Key(quantity.DumpSharePct)
	keyEnergy   = quantity.Key(quantity.LoadEnergyKWh)
	keyPressure = quantity.Key(quantity.PressureKPa)
	keyBefore   = quantity.Key(quantity.PressureBefore)
	keyAfter    = quantity.Key(quantity.PressureAfter)
	keyLevel    = quantity.Key(quantity.PondLevelM)
	keyLoss     = quantity.Key(quantity.ScreenLossMM)
	keyAir      = quantity.Key(quantity.AirC)
	keyWater    = quantity.Key(quantity.WaterC)
	keyRain     = quantity.Key(quantity.RainMM)
	keyBypass   = quantity.Key(quantity.BypassLps)
	keyScreen   = quantity.Key(quantity.Screen)
	keyCleared  = quantity.Key(quantity.ScreenCleared)
	keyValve    = quantity.Key(quantity.Valve)
	keyIce      = quantity.Key(quantity.Ice)
)

func keyBearing(id string) quantity.Key { return quantity.NewKey(id, quantity.BearingC) }

func keyHours(id string) quantity.Key { return quantity.NewKey(id, quantity.Hours) }
