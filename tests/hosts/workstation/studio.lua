-- SPDX-FileCopyrightText: 2026 The Dustcap authors
-- SPDX-License-Identifier: ISC

-- What the scripts of workstation.sh share: a session with tracks, sends and
-- stages, by Ardour's Lua runner.  A mistake ends the script with a message.

local studio = {}

-- The stages of a track, in order
studio.ROW = {
  "di-cleanup", "input-compressor", "tube-stage", "thickening-echo",
  "speaker-breakup", "proximity-lift", "air-shelf",
}

local RATE = 48000
local any_place = ARDOUR.PresentationInfo.max_order

local function new_engine()
  assert(AudioEngine:set_backend("None (Dummy)", "", ""), "no dummy backend")
end

-- Makes a session in `folder`
function studio.new(folder)
  new_engine()
  return assert(create_session(folder, "session", RATE), "no session in " .. folder)
end

-- Opens the session in `folder`
function studio.open(folder)
  new_engine()
  return assert(load_session(folder, "session"), "cannot open " .. folder)
end

-- Waits until all routes play into another, which Ardour arranges in a thread of
-- its own
local function wait_for_connections(session)
  for route in session:get_routes():iter() do
    local output = route:output()
    for channel = 0, output:n_ports():n_audio() - 1 do
      local tries = 0
      while not output:audio(channel):connected() do
        tries = tries + 1
        assert(tries < 20, route:name() .. " plays nowhere")
        sleep(1)
      end
    end
  end
end

function studio.close(session)
  wait_for_connections(session)
  session:save_state("")
  close_session()
end

-- Makes a track that plays into the master
function studio.track(session, name, n_in, n_out)
  local made = session:new_audio_track(n_in, n_out, nil, 1, name, any_place,
                                       ARDOUR.TrackMode.Normal, true)
  assert(made:size() == 1, "no track " .. name)
  return made:front()
end

-- Has a track hear, channel by channel, what other mono tracks play
function studio.listen(session, track, names)
  wait_for_connections(session)
  for i, name in ipairs(names) do
    local port = track:input():audio(i - 1)
    port:disconnect_all()
    assert(port:connect(name .. "/audio_out 1") == 0, "no way from " .. name)
  end
end

-- Makes a stereo bus that plays into the master
function studio.bus(session, name)
  local made = session:new_audio_route(2, 2, nil, 1, name, ARDOUR.PresentationInfo.Flag.AudioBus,
                                       any_place)
  assert(made:size() == 1, "no bus " .. name)
  return made:front()
end

local function n_stages(route)
  local n = 0
  while not route:nth_plugin(n):isnil() do
    n = n + 1
  end
  return n
end

-- Appends a stage, in front of the fader; with `preset` it is loaded by its name
function studio.stage(session, route, form, preset)
  local uri = "urn:dustcap:" .. form
  local made = ARDOUR.LuaAPI.new_plugin(session, uri, ARDOUR.PluginType.LV2, "")
  assert(not made:isnil(), "no plugin " .. uri)
  assert(route:add_processor_by_index(made, n_stages(route), nil, true) == 0, "no room for " .. uri)
  if preset then
    local plugin = made:to_insert():plugin(0)
    local record = plugin:preset_by_label(preset)
    assert(record and record.valid, uri .. " has no preset '" .. preset .. "'")
    assert(plugin:load_preset(record), uri .. " does not load '" .. preset .. "'")
  end
  return made
end

-- Sets the control with number `index`, as the ports are numbered
function studio.set(stage, index, value)
  assert(ARDOUR.LuaAPI.set_processor_param(stage, index, value), "cannot set " .. index)
end

-- In 32 bits, as Ardour saves it
local function gain(db)
  return (string.unpack("f", string.pack("f", 10 ^ (db / 20))))
end

local function set_control(control, value)
  control:set_value(value, PBD.GroupControlDisposition.NoGroup)
end

-- Sets the fader, and the panner: -100 is left, 100 right
function studio.level(route, gain_db, pan)
  set_control(route:gain_control(), gain(gain_db))
  if pan then
    set_control(route:pan_azimuth_control(), (pan + 100) / 200)
  end
end

-- Sends a track to a bus, behind fader and pan
function studio.send(session, track, bus, level_db)
  local tracks = ARDOUR.RouteListPtr()
  tracks:push_back(track)
  session:add_internal_sends(bus, ARDOUR.Placement.PostFader, tracks)
  local n = 0
  while not track:nth_send(n):isnil() do
    n = n + 1
  end
  assert(n > 0, "no send")
  set_control(track:nth_send(n - 1):to_send():gain_control(), gain(level_db))
end

local function set_automation(stage, index, state)
  local control = stage:to_automatable():automation_control(
    Evoral.Parameter(ARDOUR.AutomationType.PluginAutomation, 0, index), true)
  assert(not control:isnil(), "no automation of control " .. index)
  control:set_automation_state(state)
end

-- Adds steps to the automation of a control: a list of {frame, value}
function studio.automate(stage, index, steps)
  local list, points = ARDOUR.LuaAPI.plugin_automation(stage, index)
  assert(not list:isnil(), "no automation of control " .. index)
  points:clear_list()
  points:set_interpolation(Evoral.InterpolationStyle.Discrete)
  for _, step in ipairs(steps) do
    points:add(Temporal.timepos_t(step[1]), step[2], false, false)
  end
  set_automation(stage, index, ARDOUR.AutoState.Play)
end

-- Has a control write down, while the song plays, what a hand moves it to
function studio.record(stage, index)
  set_automation(stage, index, ARDOUR.AutoState.Touch)
end

-- Calls visit(route's name, number of the stage, plugin, processor)
local function each_stage(session, visit)
  for route in session:get_routes():iter() do
    for i = 0, n_stages(route) - 1 do
      local processor = route:nth_plugin(i)
      visit(route:name(), i, processor:to_insert():plugin(0), processor)
    end
  end
end

-- Calls visit(what, value) for each fader, panner and send
local function each_strip(session, visit)
  for route in session:get_routes():iter() do
    visit(route:name() .. " fader", route:gain_control():get_value())
    if not route:pan_azimuth_control():isnil() then
      visit(route:name() .. " pan", route:pan_azimuth_control():get_value())
    end
    local n = 0
    while not route:nth_send(n):isnil() do
      local send = route:nth_send(n)
      visit(route:name() .. " to " .. send:display_name(), send:to_send():gain_control():get_value())
      n = n + 1
    end
  end
end

-- Writes a line for each value of each stage into a file
function studio.write_values(session, path)
  local file = assert(io.open(path, "w"))
  each_stage(session, function(name, i, plugin, processor)
    for k = 0, plugin:parameter_count() - 1 do
      if plugin:parameter_is_control(k) and plugin:parameter_is_input(k) then
        local value = ARDOUR.LuaAPI.get_processor_param(processor, k, false)
        file:write(string.format("%s %d %s: %s = %.9g\n", name, i, plugin:name(),
                                 plugin:parameter_label(k), value))
      end
    end
  end)
  each_strip(session, function(what, value)
    file:write(string.format("%s = %.9g\n", what, value))
  end)
  file:close()
end

-- Lets only some tracks and busses be heard: NAME+NAME..., or all for ""
function studio.hear(session, names)
  local wanted = {}
  for name in names:gmatch("[^+]+") do
    wanted[name] = true
  end
  for route in session:get_routes():iter() do
    if not route:is_master() then
      set_control(route:mute_control(), (names == "" or wanted[route:name()]) and 0 or 1)
    end
  end
  sleep(1) -- Faders and mutes glide
end

-- Exports the first `n_frames` of the master into FOLDER/NAME.wav
function studio.export(session, folder, name, n_frames)
  local export = session:simple_export()
  assert(export:set_preset("d1bd6270-2f4c-4a53-8d8e-9a6a6f2b0002"), "no export preset")
  export:set_folder(folder)
  export:set_name(name)
  export:set_range(0, n_frames)
  assert(export:check_outputs(), "nothing to export")
  assert(export:run_export(), "export failed")
end

return studio
